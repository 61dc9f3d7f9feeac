"""``cropcal new`` with "salad" or "herbs": a mix of what the lamp grows soonest in the beds there are."""

import tomllib
from pathlib import Path

import pytest
from in_process import cropcal

SHELF = (
    "--floor",
    "120 x 60 cm, foil",
    "--lamp",
    "two 45 W LEDs",
    "--hours",
    "6am to 10pm",
    "--gap",
    "30 cm",
)


@pytest.fixture
def without_plan(monkeypatch):
    """Let ``new`` write its file and stop: the first plan is not what a test is about."""
    monkeypatch.setattr("cropcal.cli.new._first_plan", lambda folder, answers, **_: None)


def made(folder: Path, *words: str):
    """Make a space in a folder; return what was printed and what the file holds."""
    done = cropcal("new", "shelf", "--yes", "--all", *words, cwd=folder)
    assert done.returncode == 0, done.stdout + done.stderr
    checked = cropcal("check", "shelf", cwd=folder)
    assert checked.returncode == 0, checked.stdout + checked.stderr
    assert "no mistakes found" in checked.stdout
    path = folder / "shelf" / "space.toml"
    return (
        " ".join(done.stdout.split()),
        tomllib.loads(path.read_text(encoding="utf-8")),
        path.read_text(encoding="utf-8"),
    )


def test_salad_is_a_mix_that_comes_soon(tmp_path):
    """Shoots first, then leaves that are cut again, heads in the pots; and the file says why."""
    said, space, text = made(
        tmp_path, *SHELF, "--boxes", "8 pots and a tray", "--eat", "3 bowls of salad a week"
    )
    bridge, leaves, heads = space["want"]
    assert bridge["crops"] in (["pea-shoots"], ["microgreens-brassica"])
    assert bridge["until"] > space["plan"]["start"]
    assert len(leaves["crops"]) >= 2
    assert (leaves["unit"], leaves["variety"]) == ("bowls", True)
    assert len(heads["crops"]) >= 2
    assert all(crop.startswith("lettuce-") for crop in heads["crops"])
    assert heads["per_week"] < 3
    assert "# Chosen for this lamp; days from seed" in text
    assert "- salad: " in said
    assert "(what this lamp grows soonest)" in said
    assert "Pea shoots: sown" in said or "Brassica microgreens: sown" in said


@pytest.mark.usefixtures("without_plan")
def test_salad_in_trays_alone_has_no_heads(tmp_path):
    """Heads grow in pots: where there are none, nobody is told to sow them."""
    _, space, _ = made(tmp_path, *SHELF, "--boxes", "2 trays, 50 x 25 cm", "--eat", "salad")
    assert {bed["kind"] for bed in space["bed"]} == {"tray"}
    assert len(space["bed"]) == 2
    assert not [crop for want in space["want"] for crop in want["crops"] if crop == "lettuce-butterhead"]


@pytest.mark.usefixtures("without_plan")
def test_salad_in_pots_alone_has_no_leaves_of_a_tray(tmp_path):
    """Who says that there is no tray gets heads of several kinds."""
    _, space, _ = made(tmp_path, *SHELF, "--boxes", "8 pots, no tray", "--eat", "salad")
    assert "tray" not in {bed.get("kind") for bed in space["bed"]}
    (want,) = space["want"]
    assert len(want["crops"]) >= 2


@pytest.mark.usefixtures("without_plan")
@pytest.mark.parametrize(("answer", "has_tray"), [("yes", True), ("no", False)])
def test_a_tray_is_asked_for_where_it_would_help(tmp_path, answer, has_tray):
    """One more question, last: nobody is given a tray that does not exist."""
    flags = (
        *SHELF,
        "--boxes",
        "8 pots",
        "--eat",
        "salad",
        "--air",
        "21",
        "--price",
        "30 ct",
        "--days",
        "weekends",
    )
    done = cropcal("new", "shelf", *flags, "--start", "tomorrow", cwd=tmp_path, typed=f"{answer}\n")
    assert done.returncode == 0, done.stdout + done.stderr
    assert "Can you put one beside the pots?" in done.stdout
    space = tomllib.loads((tmp_path / "shelf" / "space.toml").read_text(encoding="utf-8"))
    assert ("tray" in {bed.get("kind") for bed in space["bed"]}) == has_tray


@pytest.mark.usefixtures("without_plan")
def test_herbs_are_several(tmp_path):
    """With "some basil and herbs": basil, and other herbs beside it."""
    _, space, _ = made(tmp_path, *SHELF, "--boxes", "8 pots", "--eat", "some basil and herbs")
    basil, herbs = space["want"]
    assert basil["crops"] == ["basil"]
    assert len(herbs["crops"]) >= 2
    assert "basil" not in herbs["crops"]


@pytest.mark.usefixtures("without_plan")
def test_a_wish_without_a_bed_is_left_out_and_said(tmp_path):
    """Lettuces in a tray cannot be had: they are left out, the rest stands."""
    _, space, text = made(tmp_path, *SHELF, "--boxes", "1 tray", "--eat", "2 romaine, pea shoots")
    assert [want["crops"] for want in space["want"]] == [["pea-shoots"]]
    assert "#   lettuce-romaine: left out (there are no pots for it)" in text


@pytest.mark.usefixtures("without_plan")
def test_too_large_boxes_cost_their_size_not_the_space(tmp_path):
    """Boxes that do not fit on the floor share it; that is said, and the file is valid."""
    _, space, text = made(
        tmp_path, *SHELF, "--boxes", "3 boxes of 8 pots, 0.8 x 0.5 m", "--eat", "2 lettuces"
    )
    assert "boxes: their sizes are left out, since they do not fit on the floor" in text
    assert "length_m" not in space["bed"][0]


@pytest.mark.usefixtures("without_plan")
def test_a_lamp_too_weak_for_all_is_said(tmp_path):
    """No mix is promised where nothing grows."""
    _, _, text = made(
        tmp_path,
        "--floor",
        "1.2 x 0.6 m",
        "--lamp",
        "LED 5 W",
        "--boxes",
        "8 pots, no tray",
        "--eat",
        "salad",
    )
    assert "the lamp is too weak for them" in text
    assert "None of these gets enough light here" in text


@pytest.mark.usefixtures("without_plan")
@pytest.mark.parametrize(("size", "has_tray"), [("0.5 x 0.3 m", True), ("1.18 x 0.58 m", False)])
def test_a_tray_takes_the_room_that_sized_boxes_leave(tmp_path, size, has_tray):
    """What was typed about boxes stands; a tray is assumed only where there is room for one."""
    _, space, _ = made(tmp_path, *SHELF, "--boxes", f"1 box of 12 pots, {size}", "--eat", "salad")
    assert ("tray" in {bed.get("kind") for bed in space["bed"]}) == has_tray
    assert space["bed"][0]["length_m"] == float(size.split()[0])
