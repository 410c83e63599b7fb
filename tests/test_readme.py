"""The README is held to the program: its first design draws, its message is real, its excerpt is the design's."""

from __future__ import annotations

import re
from pathlib import Path

from sheet_pictures import MOST_BYTES, SHEETS

from plangen.facts import plan_facts

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")


def _first_design() -> str:
    return "".join(re.findall(r"```yaml\n(.*?)```", README.split("## A first design")[1], re.DOTALL))


def test_the_first_design_written_by_hand_draws_without_a_finding() -> None:
    facts, findings = plan_facts(_first_design().encode(), "step.yaml")
    assert findings == ()
    assert facts is not None
    assert [(m.name, m.quantity) for m in facts.model.members] == [("tread", 1), ("side", 2), ("rail", 1)]


def test_a_misspelt_key_of_it_is_told_in_the_words_the_readme_shows() -> None:
    shown = re.search(r"```\n(step\.yaml:.*?)\n```", README)
    assert shown is not None
    text = _first_design().replace("    length: long\n", "    legnth: long\n")
    _, findings = plan_facts(text.encode(), "step.yaml")
    assert shown[1] in [str(f) for f in findings]


def test_the_excerpt_beside_the_picture_stands_in_the_design() -> None:
    excerpt = re.search(r"<pre>\n(.*?)</pre>", README, re.DOTALL)
    assert excerpt is not None
    design = (ROOT / "designs" / "splayed-trestle.yaml").read_text(encoding="utf-8")
    assert excerpt[1].replace("&lt;", "<") in design
    picture = re.search(r'src="([^"]+)"', README)
    assert picture is not None
    assert (ROOT / picture[1]).is_file()


def test_every_command_and_every_file_of_a_plan_set_is_named() -> None:
    for word in ("plangen draw", "plangen check", "plangen schema", "plangen --version"):
        assert word in README
    for name in ("plan.pdf", "views.dxf", "templates/", "model.glb", "plan.json", "cutting-list.csv"):
        assert name in README


def test_every_picture_is_in_the_tree_small_and_said_in_words() -> None:
    pictures = re.findall(r"<img ([^>]*)>", README)
    assert len(pictures) >= 4
    for words in pictures:
        source, alt = re.search(r'src="([^"]+)"', words), re.search(r'alt="([^"]+)"', words)
        assert source is not None
        assert alt is not None
        assert 0 < (ROOT / source[1]).stat().st_size <= MOST_BYTES
    drawn = {f"designs/pictures/{name}.png" for name in SHEETS}
    assert drawn == {s for w in pictures for s in re.findall(r'src="([^"]+\.png)"', w)}
