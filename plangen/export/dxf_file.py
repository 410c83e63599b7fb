"""DXF documents that are the same bytes every time.

ezdxf stamps the clock and random identifiers into a document and fills its classes from a set; both are
switched off, or put in order, here and nowhere else.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager

import ezdxf
from ezdxf import units
from ezdxf.document import Drawing

from plangen.geometry.curves import Vec2
from plangen.units import LengthUnit

VERSION = "R2000"
"""AC1015: the oldest that carries lightweight polylines and units, read by every machine that reads DXF."""
_UNITS = {"mm": (units.MM, 1), "in": (units.IN, 0)}


@contextmanager
def fixed_metadata() -> Iterator[None]:
    """Documents made and written inside carry neither time nor random identifiers."""
    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before


def new_document(unit: LengthUnit, setup: list[str] | None = None, version: str = VERSION) -> Drawing:
    """An empty document; ``$INSUNITS`` and ``$MEASUREMENT`` both say the unit, as readers look at either. R12 has
    neither."""
    insunits, measurement = _UNITS[unit]
    if version == "R12":
        # asked for a unit, the library speaks of it on the error stream
        return Drawing.new(version)
    document = ezdxf.new(version, setup=setup or False, units=insunits)
    document.header["$INSUNITS"] = insunits
    document.header["$MEASUREMENT"] = measurement
    return document


def set_extents(document: Drawing, low: Vec2, high: Vec2) -> None:
    """What a viewer opens on."""
    space = document.modelspace()
    space.reset_extents((*low, 0.0), (*high, 0.0))
    space.reset_limits(low, high)
    document.header["$EXTMIN"], document.header["$EXTMAX"] = (*low, 0.0), (*high, 0.0)
    document.header["$LIMMIN"], document.header["$LIMMAX"] = low, high
    height = max(high[1] - low[1], 1.0)
    document.set_modelspace_vport(height * 1.1, ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2))


def document_bytes(document: Drawing) -> bytes:
    """The file, line feeds alone between lines whatever the system."""
    for name in sorted(document.entitydb.dxf_types_in_use()):
        document.classes.add_class(name)
    text = io.StringIO()
    document.write(text)
    return document.encode(text.getvalue())


def tidy(value: float) -> float:
    """Rounded to 1e-6, never -0."""
    return round(value, 6) + 0.0
