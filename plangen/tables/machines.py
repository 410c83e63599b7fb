"""The machines of a small workshop: what they reach. A design's ``shop`` names others.

Capacities are those usual for machines of this size (common practice): a shop enters its own. Lengths mm, angles
degrees.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Reach:
    """What one machine can do. None: no such limit, or not asked of this machine."""

    machine: str
    """Its name as ``machining.setup.Machine`` has it."""
    miter: float | None = None
    """Most swing each way."""
    bevel_left: float | None = None
    bevel_right: float | None = None
    height: float | None = None
    """Deepest cut, square."""
    height_at_45: float | None = None
    width: float | None = None
    """Widest board it cuts across, square; of a rip the widest from blade to fence."""
    shortest: float | None = None
    """Shortest piece that is held safely (see tables/cautions.py)."""
    kerf: float | None = None
    diameter: float | None = None
    """Of its blade."""
    widths: tuple[float, ...] = ()
    """Of heads and straight bits owned; a trenching head: least and most."""
    radii: tuple[float, ...] = ()
    """Of round-over bits owned."""
    drills: tuple[float, ...] = ()
    """Diameters of the drills owned; none named: any that a hole asks for."""
    tilt: float | None = None
    """Most that its table tilts."""


@dataclass(frozen=True)
class Shop:
    """The machines a shop owns; what is not named it does not have."""

    name: str
    machines: tuple[Reach, ...]

    def reach(self, machine: str) -> Reach | None:
        return next((m for m in self.machines if m.machine == machine), None)

    def machine(self, name: str) -> Reach:
        """The machine of that name, which is there. Raises KeyError where it is not."""
        found = self.reach(name)
        if found is None:
            raise KeyError(name)
        return found


SMALL_SHOP = Shop(
    "a small shop",
    (
        Reach("mitre saw", miter=50.0, bevel_left=45.0, bevel_right=45.0, height=90.0, height_at_45=45.0,
              width=300.0, shortest=200.0, kerf=2.6, diameter=254.0),
        Reach("table saw", miter=60.0, bevel_left=45.0, bevel_right=0.0, height=78.0, height_at_45=54.0,
              width=760.0, shortest=300.0, kerf=3.0, diameter=254.0),
        Reach("trenching head", miter=60.0, bevel_left=45.0, bevel_right=0.0, height=50.0, shortest=300.0,
              widths=(6.0, 20.0), diameter=203.0),
        Reach("router", height=60.0, widths=(3.0, 4.0, 6.0, 6.35, 8.0, 9.525, 10.0, 12.0, 12.7, 16.0, 19.05),
              radii=(2.0, 3.0, 3.175, 4.7625, 6.0, 6.35, 8.0, 9.525, 12.0, 12.7)),
        Reach("bandsaw", height=150.0, width=340.0, kerf=1.0, tilt=45.0),
        Reach("jointer", bevel_left=45.0, bevel_right=45.0, width=150.0, shortest=300.0, height=3.0),
        Reach("drill press", height=80.0, tilt=45.0),
        Reach("lathe", width=300.0, height=900.0),
        Reach("vise"),
        Reach("hand"),
    ),
)  # fmt: skip
"""The default."""
