"""Which tests run on one process; tallies (of property tests, see ``soundness``) printed at the end of a run.

All tests of one design run on one process, whatever file they stand in, so that it is worked out once; the other
tests of a file run on one process. Designs come first, the longest before
all others: they take longest, and what is short fills up the end.
"""

import importlib
import os
import pkgutil
import re
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import settings

import plangen

# Before numpy is loaded: matrices are small here, and threads that wait for one another cost more than they do.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# A landing is judged on the same examples every time; `--hypothesis-profile=random` looks for others.
settings.register_profile("same", derandomize=True)
settings.register_profile("random", derandomize=False)
settings.load_profile("same")

# Some examples are numbers met in those of our modules that are loaded: with all of them loaded, what a test is tried
# on does not depend on which tests ran before it.
for _module in pkgutil.walk_packages(plangen.__path__, "plangen."):
    if not _module.name.endswith("__main__"):
        importlib.import_module(_module.name)

ROOT = Path(__file__).parent.parent
_SIZES = {
    p.stem: p.stat().st_size for p in (*ROOT.glob("tests/designs/**/*.yaml"), *ROOT.glob("designs/*.yaml"))
}
_GIVEN = re.compile(rf"\[({'|'.join(sorted(map(re.escape, _SIZES), key=len, reverse=True))})(?![a-z])")


def group_of(test):
    """The design that a test's name says it is given, if it says one, or else the file it stands in."""
    given = _GIVEN.search(test)
    return given[1] if given else test.split("::")[0]


def pytest_collection_modifyitems(items):
    groups = {item: group_of(item.nodeid) for item in items}
    turns = {group: turn for turn, group in enumerate(dict.fromkeys(groups.values()))}
    items.sort(key=lambda item: (-_SIZES.get(groups[item], 0), turns[groups[item]]))


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    from xdist.scheduler import LoadScopeScheduling

    class ByDesign(LoadScopeScheduling):
        def _split_scope(self, nodeid):
            return group_of(nodeid)

    config.option.loadscopereorder = False
    return ByDesign(config, log)


@pytest.fixture
def tally(request):
    """An open tally, called by the test's name; closed with the test: few refused, and reported."""
    from soundness import Tally

    kept = Tally(request.node.name)
    yield kept
    request.node.user_properties.append(("tally", (kept.kind, kept.tried, kept.refused, kept.worst)))
    kept.assert_few_refused()


@pytest.fixture
def hand_cuts(request):
    """A count of cuts that are left to hand tools, by reason; printed at the end of a run."""
    reasons = Counter()
    yield reasons
    request.node.user_properties.append(("cuts by hand", sorted(reasons.items())))


def pytest_terminal_summary(terminalreporter):
    reports = (r for kind in terminalreporter.stats.values() for r in kind)
    told = [p for r in reports for p in getattr(r, "user_properties", ())]
    by_hand = Counter()
    for counted in (value for name, value in told if name == "cuts by hand"):
        by_hand.update(dict(counted))
    if by_hand:
        terminalreporter.section("cuts by hand of the members that the simulated machine made")
        terminalreporter.write_line(", ".join(f"{reason}: {n}" for reason, n in sorted(by_hand.items())))
    kept = sorted({tuple(value) for name, value in told if name == "tally"})
    if kept:
        terminalreporter.section("joints between random members: tried, refused, worst difference")
        for kind, tried, refused, worst in kept:
            terminalreporter.write_line(f"{kind}: {tried} tried, {refused} refused, {worst:.1e}")
