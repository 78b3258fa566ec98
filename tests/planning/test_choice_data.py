"""The data behind the choice: every rule can fire, every name in it is known, every slip in it is refused."""

import copy
from pathlib import Path
from typing import Any

import pytest

import wearline.assessment
from wearline.catalogue.documents import read_document
from wearline.catalogue.job_choice import load_job_choice, read_job_choice
from wearline.catalogue.job_choice_model import SITUATIONS, ChoiceRule
from wearline.catalogue.loading import load_catalogue
from wearline.errors import CatalogueError
from wearline.planning.choose import choose_work
from wearline.planning.evidence import VEHICLE, Evidence

CHOICE = load_job_choice()
RULES = {rule.id: rule for rule in CHOICE.rules}
AXLES = {"1": ("1L", "1R"), "2": ("2L", "2R")}
ALL_ENDS = ("1L", "1R", "2L", "2R")
PLACES = {
    "": ("1L",),
    "mate": ("1R",),
    "axle": ("1",),
    "vehicle": (VEHICLE,),
    **dict.fromkeys(("some", "several", "most", "every"), ALL_ENDS),
}


def conditions_of(rule: ChoiceRule) -> list[str]:
    return [*(name for group in rule.all for name in group), *rule.none]


NAMES = sorted({name.rpartition(">")[2] for rule in CHOICE.rules for name in conditions_of(rule)})


# ---------------------------------------------------------------- the rules


@pytest.mark.parametrize("rule", CHOICE.rules, ids=lambda rule: rule.id)
def test_every_rule_fires_on_each_of_its_alternatives_and_not_without(rule: ChoiceRule) -> None:
    for n, group in enumerate(rule.all):
        for condition in group:
            chosen = [condition if m == n else others[0] for m, others in enumerate(rule.all)]
            assert _fires(rule, chosen), condition
            assert not _fires(rule, [name for m, name in enumerate(chosen) if m != n and name not in group])


@pytest.mark.parametrize("rule", [rule for rule in CHOICE.rules if rule.none], ids=lambda rule: rule.id)
def test_every_exception_of_a_rule_stops_it(rule: ChoiceRule) -> None:
    holding = [group[0] for group in rule.all]
    for exception in rule.none:
        assert not _fires(rule, [*holding, exception]), exception


def _fires(rule: ChoiceRule, conditions: list[str]) -> bool:
    evidence = Evidence(AXLES)
    for condition in conditions:
        reach, _, sign = condition.rpartition(">")
        for place in PLACES[reach]:
            evidence.add(place, sign, sign)
    chosen = choose_work(evidence, (rule,), CHOICE.title)
    return bool(chosen.first) or any(chosen.by_axle.values())


@pytest.mark.parametrize("name", [name for name in NAMES if "=" in name])
def test_every_word_in_a_rule_is_a_word_of_its_field(name: str) -> None:
    catalogue = load_catalogue()
    check, _, word = name.partition("=")
    if check.startswith("design:"):
        trait = check.removeprefix("design:")
        assert trait in catalogue.design("generic-22.5").tags()
    elif check != "noticed":
        assert word in catalogue.fields[check].words


_VERDICTS = ("beyond", "undecided", "within", "void")


@pytest.mark.parametrize("name", [name for name in NAMES if "=" not in name and ":" in name])
def test_every_finding_in_a_rule_is_one_that_an_assessment_can_make(name: str) -> None:
    catalogue = load_catalogue()
    head, _, rest = name.partition(":")
    known = {*catalogue.fields, *catalogue.measures}
    if head in ("work", "needed", "sure", "sign", "note"):
        return  # refused by the reader when unknown
    if head == "not taken":
        assert rest in catalogue.fields
        return
    verdict, _, limit = rest.partition("#")
    if verdict.removesuffix(" high").removesuffix(" low") in _VERDICTS and head not in ("play", "runout"):
        assert head in known
        assert not limit or limit in catalogue.default_limits
        return
    sources = Path(wearline.assessment.__file__).parent.glob("*.py")
    assert any(f'"{name}"' in path.read_text(encoding="utf-8") for path in sources), name


def test_every_own_step_of_the_catalogue_has_its_place_in_the_order() -> None:
    steps = {step.id for situation in load_catalogue().work.situations.values() for step in situation.steps}
    assert steps <= set(CHOICE.order)
    assert set(CHOICE.order) <= steps | set(CHOICE.extra)
    at_the_own_steps = {code for code, work in CHOICE.extra.items() if work.spine == "8"}
    assert at_the_own_steps <= set(CHOICE.order)


def test_cautions_parts_and_limits_of_work_beside_are_names_of_the_catalogue() -> None:
    catalogue = load_catalogue()
    for work in CHOICE.extra.values():
        assert 1 <= int(work.spine) <= 18
        for step in work.steps:
            assert set(step.cautions) <= set(catalogue.work.cautions)
            (step.text + step.gate).format_map(dict.fromkeys(catalogue.default_limits, ""))
        assert work.hours_single[0] <= work.hours_single[1]
        assert work.hours_other[0] <= work.hours_other[1]


def test_all_six_situations_are_reached_by_some_rule() -> None:
    assert {rule.work for rule in CHOICE.rules} >= set(SITUATIONS)


def test_all_work_beside_the_situations_is_reached_by_some_rule() -> None:
    assert {rule.work for rule in CHOICE.rules if rule.work} == {*SITUATIONS, *CHOICE.extra}


def test_thresholds_beside_the_limits() -> None:
    """Expert judgement of the trade: 400 N, 230, 200 and 250 degC, 65 %; 50 degC is common practice."""
    shown = {name: sign.published for name, sign in CHOICE.signs.items()}
    assert shown["seized slide"] == "400 N"
    assert shown["friction overheated"] == "230 degC"
    assert shown["boots overheated"] == "200 degC"
    assert shown["grease overheated"] == "250 degC"
    assert shown["hot parts"] == "50 degC"
    assert CHOICE.signs["hot parts"].at_least == pytest.approx(323.15, abs=1e-9)
    outlook = CHOICE.rotor_outlook
    assert (outlook.low, outlook.usual, outlook.high) == (0.5e-3, 0.8e-3, 1.2e-3)


# ---------------------------------------------------------------- refused


def documents() -> tuple[dict[str, Any], dict[str, Any]]:
    return (
        copy.deepcopy(read_document("job_choice.toml")),
        copy.deepcopy(read_document("job_extra_work.toml")),
    )


def refuse(match: str, choice: dict[str, Any], extra: dict[str, Any]) -> None:
    with pytest.raises(CatalogueError, match=match):
        read_job_choice(choice, extra)


def test_an_unknown_work_is_refused() -> None:
    choice, extra = documents()
    choice["rule"][-1]["work"] = "S7"
    refuse(r"job_choice.toml, rule \d+, key 'work': 'S7' is not known", choice, extra)


@pytest.mark.parametrize(
    ("condition", "match"),
    [
        ("work:S9", "'S9' is not known"),
        ("sign:cold feet", "'cold feet' is not known"),
        ("note:rain", "'rain' is not known"),
        ("neighbour>slide=stuck", "'neighbour' is not known"),
    ],
)
def test_an_unknown_name_in_a_condition_is_refused(condition: str, match: str) -> None:
    choice, extra = documents()
    choice["rule"][-1]["all"] = [condition]
    refuse(match, choice, extra)


def test_work_that_depends_must_name_its_choice() -> None:
    choice, extra = documents()
    rule = next(rule for rule in choice["rule"] if rule.get("standing") == "depends")
    del rule["choice"]
    refuse("work that depends names no choice", choice, extra)


def test_a_rule_that_stands_twice_is_refused() -> None:
    choice, extra = documents()
    choice["rule"].append(choice["rule"][-1])
    refuse("stands twice", choice, extra)


def test_a_sentence_without_words_is_refused() -> None:
    choice, extra = documents()
    rule = next(rule for rule in choice["rule"] if rule["at"] == "first")
    del rule["says"]
    refuse("key 'says': this key is missing", choice, extra)


def test_an_unknown_key_is_refused() -> None:
    choice, extra = documents()
    choice["rule"][0]["colour"] = "red"
    refuse("key 'colour': this key is not known here", choice, extra)


def test_a_sign_without_a_unit_is_refused() -> None:
    choice, extra = documents()
    choice["sign"]["seized slide"]["at_least"] = "400"
    refuse("sign seized slide", choice, extra)


def test_work_without_a_step_is_refused() -> None:
    choice, extra = documents()
    extra["work"]["hose"]["steps"] = []
    refuse("work hose, key 'steps': work without a step", choice, extra)


def test_time_within_unknown_work_is_refused() -> None:
    choice, extra = documents()
    extra["work"]["hose"]["within"] = ["S8"]
    refuse("work hose, key 'within': 'S8' is not known", choice, extra)
