"""Sheets, model and lists to bytes.

ezdxf looks for every font of the system when it is first imported, and keeps what it finds in the user's
home. Our files hold no font: the import is pointed at an empty list of them, so that nothing is searched, nothing is
written outside the plan set, and no machine's fonts can have a say.
"""

from __future__ import annotations

import os
from pathlib import Path

_VARIABLE = "XDG_CACHE_HOME"


def _import_ezdxf() -> None:
    before = os.environ.get(_VARIABLE)
    os.environ[_VARIABLE] = str(Path(__file__).with_name("no_fonts"))
    try:
        import ezdxf  # noqa: F401
    finally:
        if before is None:
            del os.environ[_VARIABLE]
        else:
            os.environ[_VARIABLE] = before


_import_ezdxf()
