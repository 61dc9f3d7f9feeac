"""A plan is short of at most a sixth of what the best plain rule is, beyond what no plan can help."""

from importlib import import_module
from pathlib import Path

import pytest
from depth import few_of


@pytest.fixture(scope="module")
def study():
    return import_module("plain_rules")


@pytest.mark.parametrize("name", few_of(["five-sites-in-place", "millbrook", "staff room, 12"], 1))
def test_at_most_a_sixth_of_the_best_plain_rule(name, study):
    """On the example and two more spaces of the study; where the rule is never short it would say nothing."""
    found = study.against(study.texts()[name], 15)
    assert found.rule > found.least + 1
    assert found.holds
    assert found.plan_over <= found.rule_over


def test_the_table_of_the_study_has_every_space(study):
    """A space that is added is in the table too, and none is there that is not a space."""
    rows = (Path(study.__file__).with_suffix(".md")).read_text(encoding="utf-8").splitlines()
    named = [row.split("|")[1].strip() for row in rows if row.startswith("| ") and "---" not in row]
    assert named[1:] == list(study.texts())
