"""The network as data: complete, honest about its status, every damage refused with entry and cure."""

import copy
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from wearline.catalogue.cause_counts import with_fleet_counts
from wearline.catalogue.documents import read_document
from wearline.catalogue.load_causes import load_causes, read_causes
from wearline.catalogue.model import Status
from wearline.errors import CatalogueError

FILES = ("causes", "symptoms", "signatures")


def documents() -> list[Any]:
    return [copy.deepcopy(read_document(f"causes/{name}.toml")) for name in FILES]


def test_46_causes_and_35_symptoms_of_expert_judgement() -> None:
    network = load_causes()
    assert (len(network.causes), len(network.symptoms)) == (46, 35)
    parts = (*network.causes.values(), *network.symptoms.values())
    assert {part.status for part in parts} == {Status.EXPERT_JUDGEMENT}


def test_every_cause_of_the_table_makes_a_symptom_and_can_be_confirmed() -> None:
    network = load_causes()
    for code, cause in network.causes.items():
        assert any(code in symptom.chance for symptom in network.symptoms.values())
        assert cause.test.positive_if_present > cause.test.positive_if_absent


def test_some_cells_as_their_author_wrote_them() -> None:
    """Spot checks by hand against the author's table (expert judgement, no public source)."""
    network = load_causes()
    assert network.symptoms["k"].chance["G4"] == 0.97
    assert network.symptoms["n"].chance["A1"] == 0.90
    assert network.symptoms["E"].leak == 0.04
    assert network.causes["G7"].prior == 0.08
    assert network.causes["V3"].scope == "axle"
    assert network.parents_of("A1") == ("V4",)
    assert sum(len(symptom.chance) for symptom in network.symptoms.values()) == 344


def damaged(change: Callable[[list[Any]], None]) -> None:
    tables = documents()
    change(tables)
    read_causes(*tables)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (
            lambda t: t[1]["symptom"]["a"]["chance"].update(G99=0.5),
            r"symptoms.toml, symptom a, chance, key 'G99': 'G99' is not known.*Did you mean 'G9'",
        ),
        (
            lambda t: t[1]["symptom"]["a"]["chance"].update(G4=1.5),
            r"symptoms.toml, symptom a, chance, key 'G4'.*a number from 0 to 1",
        ),
        (
            lambda t: t[0]["cause"]["G4"].update(prior=-0.1),
            r"causes.toml, cause G4, key 'prior'.*a number from 0 to 1",
        ),
        (
            lambda t: t[0]["cause"]["G4"].update(leads_to=["G7"]),
            r"key 'leads_to': causes lead to each other in a circle: G4 -> G7 -> G4.*Take",
        ),
        (
            lambda t: t[0]["cause"]["G4"].update(priors=0.1),
            r"causes.toml, cause G4, key 'priors': this key is not known here.*Did you mean 'prior'",
        ),
        (
            lambda t: t[0]["cause"]["G4"]["test"].update(states=["Q"]),
            r"cause G4, test, key 'states': 'Q' is not known",
        ),
        (
            lambda t: t[0]["cause"]["G1"]["test"].update(symptom="Q"),
            r"cause G1, test, key 'symptom': 'Q' is not known",
        ),
        (lambda t: t[0]["cause"]["R3"].update(seen_by="cracks"), r"cause R3, key 'seen_by': 'cracks'"),
        (lambda t: t[2]["mode"]["G4"].update(applied=0.5), r"do not add up to 1"),
        (lambda t: t[2]["node"]["slide"].update(sound=[48.0]), r"node slide, key 'sound'.*a list of 2"),
        (lambda t: t[2]["node"]["slide"].update(sound=[48.0, 0.0]), r"key 'sound': the spread is 0"),
        (
            lambda t: t[2]["node"]["slide"]["size"].update({"G4:open.k": [1.0, 1.0]}),
            r"node slide, size, key 'G4:open.k': 'open' is not known",
        ),
        (
            lambda t: t[2]["node"]["slide"]["size"].update({"G4.k": [1.0, 1.0, 2.0]}),
            r"a spread above 0 and a chance from 0 to 1",
        ),
        (
            lambda t: t[2]["word"]["hose"]["bad"].update(hoses=["chafed"]),
            r"word hose, bad, key 'hoses': 'hoses' is not known.*Did you mean 'hose'",
        ),
        (
            lambda t: t[2]["word"]["hose"].update(bad={"hose": ["burst"]}),
            r"word hose, bad, key 'hose': 'burst' is not known",
        ),
        (
            lambda t: t[2]["compare"]["force"].update(levels=[0.1, 0.0, 0.1, 0.2, 0.3]),
            r"the first level is not 0",
        ),
    ],
)
def test_damage_is_refused_with_entry_and_cure(change: Callable[[list[Any]], None], message: str) -> None:
    with pytest.raises(CatalogueError, match=message):
        damaged(change)


def counts(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "counts.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_fleet_counts_are_worked_in_with_twenty_cases_of_prior(tmp_path: Path) -> None:
    """By hand: (20 x 0.97 + 30) / (20 + 40) = 0.8233; prior (20 x 0.03 + 5) / 120; leak (0.4 + 4) / 120."""
    path = counts(
        tmp_path, "cause,symptom,present,cases\nG4,k,30,40\nG4,prior,5,100\nleak,k,4,100\nG2,A,3,20\n"
    )
    network = with_fleet_counts(load_causes(), path)
    assert network.symptoms["k"].chance["G4"] == pytest.approx(49.4 / 60)
    assert network.causes["G4"].prior == pytest.approx(5.6 / 120)
    assert network.symptoms["k"].leak == pytest.approx(4.4 / 120)
    assert network.words["judder"].chance["G2"] == pytest.approx(3 / 40)
    assert network.counted_from == "counts.csv"
    assert load_causes().symptoms["k"].chance["G4"] == 0.97


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "cause,symptoms,present,cases\n",
            r"counts.csv, line 1: the column 'symptoms' is not known.*'symptom'",
        ),
        ("cause,symptom,present\n", r"line 1: the column 'cases' is missing"),
        (
            "cause,symptom,present,cases\nG4,k,1,2\nG44,k,1,2\n",
            r"line 3: 'G44' is no cause.*Did you mean 'G4'",
        ),
        ("cause,symptom,present,cases\nG4,kk,1,2\n", r"line 2: 'kk' is no symptom"),
        ("cause,symptom,present,cases\nleak,prior,1,2\n", r"line 2: 'prior' is no symptom"),
        ("cause,symptom,present,cases\nG4,k,-1,2\n", r"line 2: present is '-1'.*a whole number"),
        ("cause,symptom,present,cases\nG4,k,3,2\n", r"line 2: 3 of 2 cases.*a chance outside 0 to 1"),
    ],
)
def test_wrong_counts_are_refused_with_line_and_cure(tmp_path: Path, text: str, message: str) -> None:
    with pytest.raises(CatalogueError, match=message):
        with_fleet_counts(load_causes(), counts(tmp_path, text))


def test_missing_file_of_counts(tmp_path: Path) -> None:
    with pytest.raises(CatalogueError, match="cannot be read"):
        with_fleet_counts(load_causes(), tmp_path / "none.csv")
