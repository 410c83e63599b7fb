"""Lists as CSV, read back by the standard library and judged as a spreadsheet would take them."""

import csv
import io
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plangen.export.csv_lists import bought_text, cutting_list_csv, hardware_list_csv, materials_list_csv
from plangen.stock.cutting_list import CuttingRow
from plangen.stock.hardware_list import HardwareRow
from plangen.stock.lengths import Purchase
from plangen.stock.materials_list import MaterialRow
from plangen.tables.stock import resolve_stock
from plangen.units import STYLES, as_length, read_quantity

IN = 25.4


def cutting_row(name: str = "leg", mark: str = "A") -> CuttingRow:
    return CuttingRow(
        mark, name, "work", resolve_stock("2x4 doug fir", "in"), 4, 2, 2,
        (27.625 * IN, 3.5 * IN, 0.75 * IN), (29 * IN, 3.5 * IN, 0.75 * IN), "fitted", "length", 1.234,
    )  # fmt: skip


def hardware_row(name: str) -> HardwareRow:
    return HardwareRow(name, "#8 x 1 1/4", 12, 2, 1.25 * IN, ("gussets",))


def read(data: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(data.decode("utf-8"), newline="")))


def test_inch_lists_run_thickness_width_length_and_metric_lists_length_width_thickness() -> None:
    inch = cutting_list_csv([cutting_row()], STYLES["in"]).decode().split("\n")[0].split(",")
    metric = cutting_list_csv([cutting_row()], STYLES["mm"]).decode().split("\n")[0].split(",")
    assert inch[5:11] == [
        "thickness (in)", "width (in)", "length (in)",
        "rough thickness (in)", "rough width (in)", "rough length (in)",
    ]  # fmt: skip
    assert metric[5:8] == ["length (mm)", "width (mm)", "thickness (mm)"]


def test_sizes_read_back_from_the_list_within_half_a_sixteenth() -> None:
    (row,) = read(cutting_list_csv([cutting_row()], STYLES["in"]))
    for heading, mm in (
        ("length (in)", 27.625 * IN),
        ("thickness (in)", 0.75 * IN),
        ("rough length (in)", 29 * IN),
    ):
        assert float(as_length(read_quantity(row[heading], "in"), "in")) == pytest.approx(mm, abs=IN / 32)
    assert row["length is"] == "fitted"
    assert (row["quantity"], row["left"], row["right"]) == ("4", "2", "2")


def test_a_piece_weighs_pounds_in_inch_lists_and_kilograms_in_metric_ones() -> None:
    (inch,) = read(cutting_list_csv([cutting_row()], STYLES["in"]))
    (metric,) = read(cutting_list_csv([cutting_row()], STYLES["mm"]))
    # 1 kg is 2.2046 lb.
    assert (inch["mass (lb)"], metric["mass (kg)"]) == ("2.72", "1.23")


def test_a_fraction_under_an_inch_is_no_date() -> None:
    (row,) = read(cutting_list_csv([cutting_row()], STYLES["in"]))
    assert row["thickness (in)"] == "0 3/4"


def test_files_are_utf8_with_line_feeds_and_no_mark() -> None:
    data = cutting_list_csv([cutting_row("zwölf ½")], STYLES["in"])
    assert not data.startswith(b"\xef\xbb\xbf")
    assert b"\r" not in data
    assert data.endswith(b"\n")
    assert read(data)[0]["name"] == "zwölf ½"


@pytest.mark.parametrize(
    "name", ["=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(A1)", "\t=1", "\r=1", " =1+1", "＝1+1", "=-1"]
)
def test_a_cell_that_a_spreadsheet_would_run_is_made_inert(name: str) -> None:
    # The list of risky first characters is that of web-security guidance on CSV injection (memory).
    (row,) = read(hardware_list_csv([hardware_row(name)], STYLES["in"]))
    assert row["name"].startswith("'")
    assert row["name"][1:].strip() == name.strip()


def test_numbers_stay_numbers() -> None:
    (row,) = read(hardware_list_csv([hardware_row("-2.5")], STYLES["in"]))
    assert row["name"] == "-2.5"


@given(st.text(alphabet=st.characters(exclude_categories=["Cs", "Cc"]), max_size=20))
def test_any_name_survives_the_journey(name: str) -> None:
    (row,) = read(hardware_list_csv([hardware_row(name)], STYLES["in"]))
    assert row["name"].removeprefix("'") == name.removeprefix("'")


def test_the_buyer_reads_the_yards_words() -> None:
    lengths = MaterialRow(
        resolve_stock("2x4 doug fir", "in"), ("A", "B"), Fraction(6), "piece", "length",
        6 * 96 * IN, 5 * 96 * IN, (Purchase(96 * IN, 6),), 1,
    )  # fmt: skip
    boards = MaterialRow(
        resolve_stock("5/4 oak", "in"), ("C",), Fraction(15, 4), "board foot", "board_feet", 3.75, 3.0
    )
    sheets = MaterialRow(
        resolve_stock("1/2 plywood", "in"), ("D",), Fraction(2), "sheet", "area", 2 * 96 * 48 * IN**2, 3e6
    )
    assert bought_text(lengths, STYLES["in"]) == "6 of 8 ft"
    assert bought_text(boards, STYLES["in"]) == "3.75 board feet, random widths"
    assert bought_text(sheets, STYLES["in"]) == "2 of 8 ft x 4 ft"
    assert bought_text(lengths, STYLES["mm"]) == "6 of 2438 mm"
    first, second, _ = read(materials_list_csv([lengths, boards, sheets], STYLES["in"]))
    assert (first["waste (%)"], first["spare"], first["for"]) == ("17", "1", "A B")
    assert second["waste (%)"] == "20"
