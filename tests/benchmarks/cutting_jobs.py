"""Two-dimensional jobs for the cutting layouts, the same for everyone who asks for the same seed.

`classes(cls, n, seed)` draws from the published parameter table of the ten classes of two-dimensional bin packing
(I-VI: Berkey and Wang 1987; VII-X: Martello and Vigo 1998): no kerf, no demands. `workshop(seed)` draws a job as a
small workshop has it: sheets of common sizes, repeated parts, 3 mm kerf. Whole millimetres.
"""

import random

BERKEY_WANG = {1: (10, 10), 2: (10, 30), 3: (35, 40), 4: (35, 100), 5: (100, 100), 6: (100, 300)}


def classes(cls: int, n: int, seed: int) -> tuple[int, int, list[tuple[int, int]]]:
    """Sheet width, sheet height and n parts (width, height) of class 1 to 10."""
    rng = random.Random(f"{cls}-{n}-{seed}")
    draw = rng.randint
    if cls in BERKEY_WANG:
        largest, sheet = BERKEY_WANG[cls]
        return sheet, sheet, [(draw(1, largest), draw(1, largest)) for _ in range(n)]
    sheet, own = 100, cls - 6
    parts = []
    for _ in range(n):
        kind = own if rng.random() < 0.7 else rng.choice([k for k in (1, 2, 3, 4) if k != own])
        long_side, short_side = (-(-2 * sheet // 3), sheet), (1, sheet // 2)
        big, small = (sheet // 2, sheet), (1, sheet // 2)
        width, height = {
            1: (long_side, short_side),
            2: (short_side, long_side),
            3: (big, big),
            4: (small, small),
        }[kind]
        parts.append((draw(*width), draw(*height)))
    return sheet, sheet, parts


def workshop(seed: int) -> tuple[int, int, int, list[tuple[int, int, int]]]:
    """Sheet width, sheet height, kerf and parts (width, height, quantity), in millimetres."""
    rng = random.Random(f"shop-{seed}")
    width, height = rng.choice([(2440, 1220), (2500, 1250), (2800, 2070)])
    parts = []
    for _ in range(rng.randint(4, 12)):
        t = rng.random()
        if t < 0.35:
            w, h = rng.choice([720, 1950, 2100, 870]), rng.choice([300, 330, 560, 580])
        elif t < 0.6:
            w, h = rng.randint(300, 1150), rng.choice([300, 320, 540, 560])
        elif t < 0.8:
            w, h = rng.randint(250, 1150), rng.choice([80, 100, 120, 150])
        else:
            w, h = rng.randint(350, 800), rng.randint(140, 720)
        parts.append((w, h, rng.choice([1, 2, 2, 4, 4, 6, 8])))
    return width, height, 3, parts
