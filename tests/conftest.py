"""Tallies of property tests (see ``soundness``), printed at the end of a run, from all of its processes."""

import pytest


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
