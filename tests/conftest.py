"""Which tests run on one process; tallies of property tests (see ``soundness``), printed at the end of a run.

All tests of one design run on one process, whatever file they stand in, so that it is worked out once; the other
tests of a file run on one process. Designs come first: they take longest, and what is short fills up the end.
"""

from pathlib import Path

import pytest


# First, since xdist writes groups into the names of tests when its own turn comes.
@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items):
    designs = {item: _design_of(item) for item in items}
    turns = {design: n for n, design in enumerate(dict.fromkeys(d for d in designs.values() if d))}
    items.sort(key=lambda item: turns.get(designs[item], len(turns)))
    for item in items:
        item.add_marker(pytest.mark.xdist_group(designs[item] or item.path.stem))


def _design_of(item):
    """The stem of the design's file that a test is given, if it is given one."""
    given = item.callspec.params.values() if hasattr(item, "callspec") else ()
    return next((v.stem for v in given if isinstance(v, Path) and v.suffix == ".yaml"), None)


@pytest.fixture
def tally(request):
    """An open tally, called by the test's name; closed with the test: few refused, and reported."""
    from soundness import Tally

    kept = Tally(request.node.name)
    yield kept
    request.node.user_properties.append(("tally", (kept.kind, kept.tried, kept.refused, kept.worst)))
    kept.assert_few_refused()


def pytest_terminal_summary(terminalreporter):
    reports = (r for kind in terminalreporter.stats.values() for r in kind)
    told = (p for r in reports for p in getattr(r, "user_properties", ()))
    kept = sorted({tuple(value) for name, value in told if name == "tally"})
    if kept:
        terminalreporter.section("joints between random members: tried, refused, worst difference")
        for kind, tried, refused, worst in kept:
            terminalreporter.write_line(f"{kind}: {tried} tried, {refused} refused, {worst:.1e}")
