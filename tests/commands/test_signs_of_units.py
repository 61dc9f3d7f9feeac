"""Units as people read them, µmol and °C, and what a terminal shows that cannot encode these signs."""

import io
from pathlib import Path

import pytest
from typer.testing import CliRunner

from cropcal.cli.gate import Gate
from cropcal.cli.main import app
from cropcal.units import signs

MILLBROOK = Path(__file__).parents[2] / "examples" / "millbrook"


def test_gate_replaces_signs_that_the_terminal_cannot_encode() -> None:
    raw = io.BytesIO()
    stream = io.TextIOWrapper(raw, encoding="ascii")
    Gate(stream).write("180 µmol/m²/s at 21 °C, 60 m³/h, 2 × 45 W …, Čača\n")
    stream.flush()
    assert raw.getvalue() == b"180 umol/m2/s at 21 C, 60 m3/h, 2 x 45 W ..., ?a?a\n"


def test_gate_keeps_signs_that_the_terminal_can_encode() -> None:
    raw = io.BytesIO()
    stream = io.TextIOWrapper(raw, encoding="latin-1")
    Gate(stream).write("180 µmol/m²/s at 21 °C\n")
    stream.flush()
    assert raw.getvalue().decode("latin-1") == "180 µmol/m²/s at 21 °C\n"


@pytest.mark.parametrize(
    ("unit", "shown"),
    [("mol/m2/d", "mol/m²/d"), ("C", "°C"), ("umol/J", "µmol/J"), ("m3/h", "m³/h"), ("cm", "cm")],
)
def test_unit_of_a_column_has_its_signs(unit: str, shown: str) -> None:
    assert signs(unit) == shown


def test_screen_has_the_signs_and_json_has_none(tmp_path: Path) -> None:
    screen = CliRunner().invoke(app, ["light", str(MILLBROOK)]).output
    assert "µmol/m²/s" in screen
    assert "mol/m²/d" in screen
    assert "umol/" not in screen
    assert "/m2" not in screen
    keys = CliRunner().invoke(app, ["light", str(MILLBROOK), "--json"]).output
    assert '"ppfd_umol_m2_s"' in keys
