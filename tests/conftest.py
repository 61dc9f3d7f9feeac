"""Fixtures that several test files share."""

from collections.abc import Iterator
from functools import cache, partial
from importlib import import_module
from types import ModuleType

import depth
import pytest
from hypothesis import settings
from on_a_day import DAY
from typer.main import get_command

from cropcal.planning import choices
from cropcal.records.crop import CropTables, Lamp

settings.register_profile("quick", max_examples=16, derandomize=not depth.NEW_CASES, deadline=None)
settings.register_profile("full", max_examples=100, derandomize=not depth.NEW_CASES, deadline=None)
settings.load_profile("full" if depth.FULL else "quick")


@pytest.fixture(scope="session")
def show_plans() -> ModuleType:
    """Return the module that makes plans: small_plan, random_plan, empty_plan, crop."""
    return import_module("show_plans")


@pytest.fixture
def small_plan(show_plans):
    """Return a plan of eight weeks, written by hand: two beds, a nursery, four crops."""
    return show_plans.small_plan()


@pytest.fixture
def names(show_plans):
    """Return slug -> name of the crops of the small plan."""
    return dict(show_plans.NAMES)


@pytest.fixture(scope="session")
def few_crops(show_plans) -> CropTables:
    """Return crop tables of six crops of all four kinds and three lamps."""
    crops = [
        show_plans.crop("lettuce-butterhead", "Butterhead lettuce"),
        show_plans.crop("lettuce-romaine", "Romaine lettuce"),
        show_plans.crop("basil", "Basil", kind="bunch", unit="g"),
        show_plans.crop("lettuce-baby", "Baby-leaf lettuce", kind="tray", unit="g", nursery_d=0),
        show_plans.crop("microgreens-brassica", "Brassica microgreens", kind="tray", unit="g", nursery_d=0),
        show_plans.crop("pea-shoots", "Pea shoots", kind="shoots", unit="g", nursery_d=0),
    ]
    lamps = [
        Lamp(
            lamp=name,
            efficacy_umol_j=2.0,
            efficacy_low_umol_j=1.2,
            efficacy_high_umol_j=2.8,
            efficacy_source="assumed",
            lux_per_umol=lux,
            lux_source="assumed",
            clearance_1_kw_m=0.15,
            clearance_source="assumed",
        )
        for name, lux in (("white LED", 69.2), ("red-blue LED", None), ("fluorescent", 74.0))
    ]
    return CropTables(
        crops={crop.slug: crop for crop in crops},
        emergence={},
        lamps={lamp.lamp: lamp for lamp in lamps},
        sources={},
    )


@pytest.fixture(scope="session", autouse=True)
def _day() -> Iterator[None]:
    """Let every command in this process run on the same day; a test may set another."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("cropcal.season.clock.today", lambda: DAY)
        yield


@pytest.fixture(scope="session", autouse=True)
def _no_flush() -> Iterator[None]:
    """Do not wait for the disk: no test asks what is left after a power cut."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("os.fsync", lambda handle: None)
        yield


@pytest.fixture(scope="session", autouse=True)
def _one_command() -> Iterator[None]:
    """Build the tree of commands once: for a short command this is half of its time."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("typer.testing._get_command", cache(get_command), raising=False)
        yield


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item, nextitem):
    """Leave out what ``plan`` draws, half of its time, but where a test is marked ``drawn``."""
    with pytest.MonkeyPatch.context() as patch:
        if not item.get_closest_marker("drawn"):
            for name in ("calendar_png", "bill_png", "light_png", "wall_sheet_pdf"):
                patch.setattr(f"cropcal.show.pictures.render.{name}", lambda *_, **__: b"")
        return (yield)


@pytest.fixture(scope="session")
def tables() -> CropTables:
    """Return the crop tables that are shipped."""
    from cropcal.reading.crops.read import read_crop_tables

    read, problems = read_crop_tables(None)
    assert problems == []
    assert read is not None
    return read


@pytest.fixture(scope="session")
def read_text(tables):
    """Return a function from the text of a space file to the Space, which must be without problems."""
    from datetime import date

    from cropcal.reading.space.read import read_space_text

    def read(text: str):
        space, problems = read_space_text(text, tables, today=date(2026, 12, 30))
        assert problems == [], "\n".join(map(str, problems))
        return space

    return read


@pytest.fixture(scope="session")
def page_facts(read_text, tables):
    """Return a function from the text of a space file, planned once, to the facts of its page.

    The search is stopped at once: a like space gives a like plan, however busy the machine is.
    """
    from cropcal.planning.growth.light_ranges import light_ranges
    from cropcal.planning.photoperiod.advice import advice
    from cropcal.planning.photoperiod.fill_hours import timer_lines, with_hours
    from cropcal.planning.planner import SolveOptions, plan
    from cropcal.planning.set_points import set_points
    from cropcal.planning.site.floor_map import lit_zones
    from cropcal.show.page.report import PageFacts

    @cache
    def facts(text: str) -> PageFacts:
        space = with_hours(read_text(text), tables)
        result, timers = plan(space, tables, SolveOptions(stop=lambda: True)), timer_lines(space)
        return PageFacts(
            plan=result,
            hours=advice(space, tables),
            timers=timers,
            zones=lit_zones(space, result.lights),
            ranges=light_ranges(space, tables, result.lights),
            tables=tables,
            breaks=space.settings.breaks,
            points=set_points(space, tables, result, timers),
        )

    return facts


@pytest.fixture(scope="session")
def page_spaces() -> ModuleType:
    """Return the module of spaces for page tests: SPACES, by name."""
    return import_module("page_spaces")


@pytest.fixture(scope="session")
def lp_text() -> ModuleType:
    """Return the module that writes LP text: as_text."""
    return import_module("lp_text")


@pytest.fixture
def sill(tables):
    """Return a maker of window sills with a lamp: ``window_sills.a_sill``."""
    return partial(import_module("window_sills").a_sill, tables)


@pytest.fixture(scope="session", autouse=True)
def quick_search():
    """Plan in one pass, also in fixtures: most tests ask what becomes of a plan, not how good it is."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(choices, "EFFORT", choices.SearchEffort(8, 1, 16, 0, 0, rule=False))
        yield


@pytest.fixture(autouse=True)
def real_search(request, monkeypatch, quick_search):
    """Search as the command does, or with an effort that it names, for a test marked ``searched``."""
    if searched := request.node.get_closest_marker("searched"):
        monkeypatch.setattr(choices, "EFFORT", choices.SearchEffort(**searched.kwargs))
