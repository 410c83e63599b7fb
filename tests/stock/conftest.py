"""Models built by hand from boxes, for the lists."""

from collections.abc import Callable

import pytest

from plangen.findings import Place
from plangen.geometry.frames import WORLD, Frame
from plangen.geometry.solid import build_solid
from plangen.geometry.surfaces import Box, Surface
from plangen.geometry.vectors import Vec
from plangen.joinery.model import Hand, Hardware, Instance, Member, Model, Origin, Role
from plangen.tables.stock import resolve_stock
from plangen.units import LengthUnit

PartBuilder = Callable[..., Member]


@pytest.fixture
def part() -> PartBuilder:
    """Builds a square-ended member standing at the world's origin as often as asked."""

    def build(
        mark: str,
        stock: str,
        size: Vec,
        *,
        units: LengthUnit = "in",
        hands: tuple[Hand | None, ...] = (None,),
        role: Role = "work",
        origin: Origin = "worked",
        allowance: tuple[float, float] = (0.0, 0.0),
        bought_size: str = "",
    ) -> Member:
        box = Box((0.0, 0.0, 0.0), size)
        solid = build_solid(box, ())
        resolved = resolve_stock(stock, units)
        return Member(
            mark=mark,
            name=f"part {mark.lower()}",
            role=role,
            stock=resolved,
            blank=box,
            finished=size,
            surfaces=tuple(Surface(name, plane) for name, plane in box.planes().items()),
            features=(),
            solid=solid,
            mass=resolved.density * solid.volume * 1e-9 if resolved.density else None,
            instances=tuple(
                Instance(f"{mark} {i}", hand, WORLD if hand != "right" else _mirrored(size))
                for i, hand in enumerate(hands, 1)
            ),
            drawn=hands[0],
            place=Place("bench.yaml", 3, 1),
            length_origin=origin,
            allowance=allowance,
            bought_size=bought_size,
        )

    return build


def _mirrored(size: Vec) -> Frame:
    return Frame((size[0], 0.0, 0.0), (-1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


@pytest.fixture
def model_of() -> Callable[..., Model]:
    def build(*members: Member, hardware: tuple[Hardware, ...] = ()) -> Model:
        return Model(members, (), hardware, ())

    return build
