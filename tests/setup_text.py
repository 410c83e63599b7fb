"""The set-up sheets read back from the text of a PDF: every number of every cut, by the printed words alone.

Written to the grammar that the sheets keep; it imports nothing of the package. Lengths come back in millimetres, angles
in degrees with the signs of plan.json (miter counter-clockwise seen from above, bevel with its top to the right of one
who faces the fence), places as {"A": along from end A, "edge": across from the face edge, "back": up from the back}.
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

import pypdf

SETTING_LABELS = (
    "Along",
    "Swing",
    "Taper",
    "Tilt",
    "Fence",
    "Raise",
    "Jig",
    "Tool",
    "Near",
    "Scale that reads 90",
    "Hand",
    "Test",
)
CUT_LABELS = (
    "For", "State", "Exactly", "Lay", "Left standing", "Left", "Ahead", "Roll", "Stop", "Fence", "Waste free", "Waste",
    "Leaves", "Wide", "Deep", "Hole", "Touches", "Run", "Turn", "Line", "On edge", "On", "Passes", "Cut too far",
    "Block", "Keep", "Only by hand", "Sight", "Caution",
)  # fmt: skip
GAUGE_MACHINES = ("table saw", "trenching head")
OFFSET = {"facing": 0.0, "gauge": 180.0, "feeding": 90.0}
HEADS = r"(SETTING \d+:|BY HAND(?= CUT)|CUT \d[\d, to]*:)"
PICTURE_LETTERS = r"\.?(?: [AB])*$"
"""Ends of the work, lettered in the picture beside the words, follow their last sentence."""
NUMBER = r"-?<?\d+(?: \d+/\d+|/\d+|\.\d+)?"


@dataclass
class SetupText:
    """What the sheets say: fields of each setting, and of each cut its title's words, its fields and its setting."""

    settings: dict[int, dict[str, str]] = field(default_factory=dict)
    cuts: dict[int, dict[str, Any]] = field(default_factory=dict)


def set_up_pages(pdf: bytes) -> str:
    """The text of the set-up sheets from the first heading or card of each, every break a space."""
    pages = [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(pdf)).pages]
    starts = [re.search(HEADS, text) for text in pages]
    return " ".join(text[start.start() :] for text, start in zip(pages, starts, strict=True) if start)


def read_fields(words: str, labels: tuple[str, ...]) -> tuple[str, dict[str, str]]:
    """What stands before the first label, and the text of each label."""
    parts = re.split(rf"(?:^|(?<= ))({'|'.join(labels)}): ", words)
    pairs = zip(parts[1::2], parts[2::2], strict=True)
    return parts[0].strip(), {label: re.sub(PICTURE_LETTERS, "", text.strip()) for label, text in pairs}


def read_text(words: str) -> SetupText:
    """Titles and fields, still in words; what a cut has ``as cut n`` is filled in."""
    found = SetupText()
    setting: int | None = None
    pieces = re.split(HEADS, words)
    for head, body in zip(pieces[1::2], pieces[2::2], strict=True):
        if head == "BY HAND":
            setting = None
        elif head.startswith("SETTING"):
            setting = int(head[8:-1])
            machine, fields = read_fields(body.strip(), SETTING_LABELS)
            found.settings[setting] = {"machine": machine, **fields}
        else:
            title, fields = read_fields(body.strip(), CUT_LABELS)
            for cut in _read_cuts(found, head[4:-1], title, fields):
                found.cuts[cut["index"]] = {**cut, "setting": setting}
    return found


def _read_cuts(found: SetupText, numbers: str, title: str, fields: dict[str, str]) -> list[dict[str, Any]]:
    base: dict[str, Any] = {}
    if like := re.fullmatch(r"(?:(.*), )?as cut (\d+)(?:, but|\.)", title):
        title, other = like[1] or "", found.cuts[int(like[2])]
        base = {k: v for k, v in other.items() if k != "fields"}
        fields = {**other["fields"], **fields}
        fields = {k: v for k, v in fields.items() if v != "none"}
    if re.match(r"[A-Z]+\d* ", title):  # a piece is named anew
        base |= {"quantity": 1, "hand": None}
    words = title.split(", ") if title else []
    if words and re.fullmatch(r"\d+ pieces?", words[-1]):
        base["quantity"] = int(words.pop().split()[0])
        base["hand"] = None
    if words and words[-1] in ("left hand", "right hand"):
        base["hand"] = words.pop().split()[0]
    if words:
        base["member"] = words[0].split()[0]
    indexes = _expanded(numbers)
    if len(indexes) == 1:
        return [{**base, "index": indexes[0], "fields": fields}]
    features = fields["For"].split(", ")
    assert len(features) == len(indexes), (numbers, features)
    return [
        {**base, "index": i, "fields": {**fields, "For": f}} for i, f in zip(indexes, features, strict=True)
    ]


def _expanded(numbers: str) -> list[int]:
    """``3 to 5, 9``."""
    found: list[int] = []
    for part in numbers.split(", "):
        first, _, last = part.partition(" to ")
        found += range(int(first), int(last or first) + 1)
    return found


# --- numbers ----------------------------------------------------------------------------------------------


class Reader:
    """Reads the words of cuts as numbers; ``unit`` is the millimetres of the printed unit."""

    def __init__(self, text: SetupText, unit: float) -> None:
        self.text, self.unit = text, unit

    def length(self, words: str) -> float:
        words = words.strip()
        sign = -1 if words.startswith("-") else 1
        words = words.removeprefix("-")
        if words.startswith("<"):
            return 0.0
        return sign * float(sum((Fraction(w) for w in words.split()), Fraction(0))) * self.unit

    def place(self, words: str) -> dict[str, float]:
        found = re.findall(rf"(A|edge|back) ({NUMBER})", words)
        assert found, words
        return {name: self.length(number) for name, number in found}

    def cut(self, index: int) -> dict[str, Any]:
        """Every number and name of one cut."""
        raw = self.text.cuts[index]
        words, setting = raw["fields"], self.text.settings.get(raw["setting"], {})
        out: dict[str, Any] = {k: raw.get(k) for k in ("index", "member", "hand", "quantity", "setting")}
        out["feature"], out["by_hand"] = words["For"], words.get("Only by hand")
        out["caution"], out["on"] = (
            words.get("Caution"),
            words.get("On", "").split(", ") if "On" in words else [],
        )
        leaves = words.get("Leaves", "")
        out["leaves"] = [] if leaves == "nothing yet" else leaves.split(", ")
        out["freed"] = (
            [g.split(" + ") for g in words["Waste free"].split("; ")] if "Waste free" in words else []
        )
        if not setting:
            return out
        where = stance_of(setting)
        out["machine"], out["stance"], out["jig"] = setting["machine"], where, setting.get("Jig")
        out |= self.tool(setting.get("Tool", ""))
        own = exact_words(words["Exactly"]) if "Exactly" in words else setting
        out |= _fence_angles(own["Fence"]) if setting["machine"] == "jointer" else self.angles(own, where)
        out |= self._lay(words, where) | self._stop(words.get("Stop")) | self._depth(words)
        out["waste"] = _waste(words.get("Waste"), where)
        out["fence"] = self.length(words["Fence"]) if "Fence" in words else None
        out["width"] = self.length(words["Wide"]) if "Wide" in words else None
        out["run"] = [self.place(p) for p in words["Run"].split(" to ")] if "Run" in words else []
        passes, _, each = words.get("Passes", "1").partition(", each ")
        out["passes"] = int(passes.split(",")[0])
        out["pass_depth"] = self.length(each.removesuffix(" deep")) if each else None
        out["residue"] = self._residue(words)
        out["keep"] = [int(n) for n in re.findall(r"\d+", words.get("Keep", ""))]
        out |= self._paths(words) | _rolled(words.get("Roll"))
        if "On edge" in words:
            other = self.angles(exact_words(words["On edge"]), where)
            out["other_miter"], out["other_bevel"] = other["miter"], other["bevel"]
        return out

    def tool(self, words: str) -> dict[str, Any]:
        def size(label: str) -> float | None:
            found = re.search(rf"(?:{label}) ({NUMBER})", words)
            return None if found is None else self.length(found[1])

        included = re.search(r"included ([\d.]+)°", words)
        return {
            "tool": words.split(",")[0] or None,
            "tool_width": size("kerf|wide"),
            "tool_diameter": size("Ø"),
            "tool_radius": size("radius"),
            "included": None if included is None else float(included[1]),
        }

    def angles(self, words: dict[str, str], where: str) -> dict[str, Any]:
        miter, bevel = (90.0 if where == "feeding" else 0.0), 0.0
        tilt = azimuth = None
        if swing := words.get("Swing"):
            angle = float(_found(re.search(r"([\d.]+)°", swing))[1])
            if swing.startswith("handle"):
                miter = angle if swing.endswith("right") else -angle
            elif swing.startswith("gauge's"):
                miter = angle if "left end" in swing else -angle
            else:
                miter = angle if swing.endswith("left") else -angle
        if taper := words.get("Taper"):
            angle = float(taper.partition("°")[0])
            miter = 90.0 - angle if taper.endswith("ahead") else 90.0 + angle
        if lean := words.get("Tilt"):
            angle, side = _found(re.fullmatch(r"([\d.]+)° (.*)", lean)).groups()
            plus = {"facing": "right", "gauge": "left", "feeding": "toward the fence"}[where]
            bevel = float(angle) if side == plus else -float(angle)
        if raised := words.get("Raise"):
            slope = _found(re.match(r"([\d.]+)°, high side at ([\d.]+)°", raised))
            tilt, bearing = float(slope[1]), float(slope[2])
            azimuth = (bearing + OFFSET[where] - 90.0) % 360.0
        return {"miter": miter, "bevel": bevel, "tilt": tilt, "azimuth": azimuth}

    def _lay(self, words: dict[str, str], where: str) -> dict[str, Any]:
        down = re.search(r"(?:^|, )([^,]*) down", words.get("Lay", ""))
        against = re.search(r"(?:^|, )([^,]*) to fence", words.get("Lay", ""))
        end = (words.get("Ahead") or words.get("Left") or "").removeprefix("end ") or None
        if where == "gauge" and end:
            end = "B" if end == "A" else "A"
        return {
            "surface_down": down and down[1], "surface_against": against and against[1], "end_left": end,
        }  # fmt: skip

    def _stop(self, words: str | None) -> dict[str, Any]:
        if words is None:
            return {"stop": None}
        pattern = (
            rf"({NUMBER}) (from|beyond) (.*?) on (.*?)/(.*?)(?:, (long|short) point)?(?:, (near|far) wall)?"
        )
        distance, way, start, one, two, point, wall = _found(re.fullmatch(pattern, words)).groups()
        stop = {
            "distance": self.length(distance) * (-1 if way == "beyond" else 1),
            "from": start,
            "arris": [one, two],
            "point": point,
            "wall": wall,
        }
        return {"stop": stop}

    def _depth(self, words: dict[str, str]) -> dict[str, Any]:
        if "Deep" not in words:
            return {"depth": [], "depth_from": None, "depth_at": []}
        found = re.fullmatch(rf"({NUMBER})(?: to ({NUMBER}))? from ([^:]*)(?:: (.*))?", words["Deep"])
        assert found, words["Deep"]
        rows = [r.split(" at ") for r in found[4].split("; ")] if found[4] else []
        return {
            "depth": [self.length(found[1]), self.length(found[2] or found[1])],
            "depth_from": found[3],
            "depth_at": [(self.place(p), self.length(d)) for d, p in rows],
        }

    def _paths(self, words: dict[str, str]) -> dict[str, Any]:
        out: dict[str, Any] = {"path": [], "profile": [], "touches": None}
        if "Hole" in words:
            out["path"] = [self.place(p) for p in words["Hole"].split("; ")]
            if through := re.search(r" on ([^;]*)", words["Hole"]):
                out["depth_from"] = through[1]
        if "Turn" in words:
            along, *steps = words["Turn"].split("; ")
            out["path"] = [self.place(p) for p in along.split(" to ")]
            for step in steps:
                diameter, at = _found(re.fullmatch(rf"Ø ({NUMBER}) at ({NUMBER})", step)).groups()
                out["profile"].append([self.length(at), self.length(diameter)])
        if "Touches" in words:
            place, _, deeper = words["Touches"].partition(", from there ")
            deep = 0.0 if deeper == "right through" else self.length(deeper.removesuffix(" deeper"))
            out["touches"] = (self.place(place), deep)
        return out

    def _residue(self, words: dict[str, str]) -> float:
        for label, sign in (("Left standing", 1.0), ("Cut too far", -1.0)):
            if label in words:
                return sign * self.length(_found(re.match(NUMBER, words[label]))[0])
        return 0.0


def _found(match: re.Match[str] | None) -> re.Match[str]:
    """What the grammar says must be there."""
    assert match, "the sheet does not keep to the grammar"
    return match


def _fence_angles(words: str) -> dict[str, Any]:
    """The jointer's cutters lie level; its fence leans in over the table (about the way to the right) or out."""
    lean = re.fullmatch(r"([\d.]+)° (in over the table|out)", words)
    turned = {"tilt": None, "azimuth": None}
    if lean:
        turned = {"tilt": float(lean[1]), "azimuth": 0.0 if lean[2].startswith("in") else 180.0}
    return {"miter": 90.0, "bevel": 90.0, **turned}


def _rolled(words: str | None) -> dict[str, Any]:
    if words is None:
        return {"rolled": []}
    pattern = r"([\d.]+)° (counter-)?clockwise seen from end B, the hole leans ([\d.]+)° to end ([AB])"
    roll, counter, lean, end = _found(re.fullmatch(pattern, words)).groups()
    return {"rolled": [float(roll) * (1 if counter else -1), float(lean) * (1 if end == "B" else -1)]}


def stance_of(setting: dict[str, str]) -> str:
    """Where the operator stands: fed along a fence, behind a mitre gauge, or facing the fence."""
    if "Along" in setting or "Taper" in setting:
        return "feeding"
    return "gauge" if setting["machine"] in GAUGE_MACHINES else "facing"


def exact_words(words: str) -> dict[str, str]:
    """``swing 4.9° left; tilt 6.7° right``."""
    parts = (p.partition(" ") for p in words.split("; ") if p != "square")
    return {label.capitalize(): text for label, _, text in parts}


def _waste(words: str | None, where: str) -> str | None:
    if words in (None, "between"):
        return words
    if words == "below":
        return "right"
    if where == "feeding":
        return "right" if words == "toward the fence" else "left"
    if where == "gauge":
        return "left" if words == "right" else "right"
    return words
