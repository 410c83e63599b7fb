"""What a designer is told about a wrong design: the whole text of every message, by class of mistake.

A case is ``=== what is wrong``, the design, ``---`` at the start of a line, and the messages. Designs that
hold ``---`` themselves end at the last one before the next case. The whole program reads them: mistakes that
only geometry shows go into tables of their own beside these.
"""

from pathlib import Path

import pytest

from plangen.facts import check_text

FOLDER = Path(__file__).parent / "wrong"
LEAST_IN_A_CLASS = 4
LEAST_IN_ALL = 60


def cases():
    for table in sorted(FOLDER.glob("*.txt")):
        for block in table.read_text(encoding="utf-8").split("=== ")[1:]:
            title, _, rest = block.partition("\n")
            design, _, messages = rest.rpartition("---\n")
            yield pytest.param(design, messages.split("\n"), id=f"{table.stem}: {title}")


@pytest.mark.parametrize(("design", "messages"), list(cases()))
def test_a_wrong_design_is_answered_at_its_line(design, messages):
    assert [line for line in messages if line] == [
        str(finding) for finding in check_text(design, "design.yaml")
    ]


def test_every_class_of_mistake_has_several_cases():
    classes = {table.stem: table.read_text(encoding="utf-8").count("=== ") for table in FOLDER.glob("*.txt")}
    assert {"yaml", "keys", "types", "sizes", "references", "hostile"} <= classes.keys()
    assert min(classes.values()) >= LEAST_IN_A_CLASS
    assert sum(classes.values()) >= LEAST_IN_ALL


def test_no_case_is_told_twice():
    names = [case.id for case in cases()]
    assert sorted(set(names)) == sorted(names)
