"""Order, gates, cautions and texts of the steps.

Common practice of the trade, no source, where nothing else is said.
"""

from dataclasses import replace

import pytest
from job_builder import axle_job, plan

from wearline.catalogue.loading import Catalogue, load_catalogue
from wearline.planning.results import JobPlan, JobStep


def steps_of(job: JobPlan, axle: str) -> tuple[JobStep, ...]:
    return axle_job(job, axle).steps


def spine_gates(steps: tuple[JobStep, ...]) -> list[int]:
    return [int(step.gate_number) for step in steps if step.gate_number.isdigit()]


def text_of(steps: tuple[JobStep, ...]) -> str:
    return " ".join(step.text for step in steps)


DEAD = {"2R": ["adjuster_test=does not advance"]}


def test_the_eighteen_gates_stand_in_order_and_steps_are_numbered() -> None:
    steps = steps_of(plan(DEAD), "2")
    assert spine_gates(steps) == list(range(1, 19))
    assert [step.n for step in steps] == list(range(1, len(steps) + 1))


def test_own_steps_stand_between_the_gates_7_and_8() -> None:
    steps = steps_of(plan(DEAD), "2")
    numbers = [step.gate_number for step in steps]
    own = [n for n, step in enumerate(steps) if step.text.startswith("S5")]
    assert len(own) == 4
    assert numbers.index("7") < min(own) <= max(own) < numbers.index("8")


def test_the_outer_pad_comes_out_first() -> None:
    """So that the calliper can be pushed and the boots are not damaged."""
    assert "Outer pad out first" in text_of(steps_of(plan(DEAD), "2"))


def test_a_calliper_goes_on_after_the_rotor_and_off_before_it() -> None:
    steps = steps_of(plan({"2L": ["adjuster_test=turns back", "rotor_thickness:beyond#rotor_min"]}), "2")
    left = [step.text for step in steps if step.at == "2L"]
    off = next(n for n, text in enumerate(left) if "Cage the spring brake. Chamber off" in text)
    rotor = next(n for n, text in enumerate(left) if "Rotor off over the hub" in text)
    on = next(n for n, text in enumerate(left) if "New chamber seal" in text)
    assert off < rotor < on


def test_rotor_steps_stand_at_both_ends() -> None:
    steps = steps_of(plan({"2L": ["rotor_thickness:beyond#rotor_min"]}), "2")
    assert {step.at for step in steps if step.text.startswith("S4")} == {"2L", "2R"}


@pytest.mark.parametrize(
    ("design", "present", "absent"),
    [
        ("generic-22.5", "new shear adapter on the stem", "torque wrench on the stem"),
        ("generic-17.5", "torque wrench on the stem", "shear adapter"),
        ("generic-17.5", "outer pad sits in the calliper", "Outer pad out first"),
        ("generic-22.5", "Rotor off over the hub", "Hub off with the rotor"),
        ("generic-19.5", "Hub off with the rotor", "Rotor off over the hub"),
    ],
)
def test_texts_change_with_the_design(design: str, present: str, absent: str) -> None:
    job = plan({"2L": ["rotor_thickness:beyond#rotor_min"]}, design=design)
    text = text_of(steps_of(job, "2"))
    assert present in text
    assert absent not in text


def test_one_tappet_has_no_step_between_two() -> None:
    boots = {"2L": ["tappet_boot=torn", "tappet_shank=clean"]}
    one, two = (text_of(steps_of(plan(boots, design=name), "2")) for name in ("generic-17.5", "generic-22.5"))
    assert "S3 tappet boots: Measure both tappets" not in one
    assert "S3 tappet boots: Measure both tappets" in two


def test_a_shear_adapter_is_a_property_of_the_design(monkeypatch: pytest.MonkeyPatch) -> None:
    direct = replace(load_catalogue().design("generic-22.5"), adjuster_needs_shear_adapter=False)
    monkeypatch.setattr(Catalogue, "design", lambda self, design_id, on=None: direct)
    job = plan(DEAD)
    assert "shear adapter" not in text_of(steps_of(job, "2"))
    assert not any("shear adapter" in part.part for part in axle_job(job, "2").parts)


def test_an_oval_bushing_is_aligned() -> None:
    """The two grooves of an oval bushing lie horizontal, so that heat can spread the pins."""
    text = text_of(steps_of(plan({"2L": ["guide_pin_boot=torn"]}), "2"))
    assert "Oval bushing" in text
    assert "horizontal" in text


def test_the_steering_axle_asks_for_a_second_person_and_a_signature() -> None:
    steps = steps_of(plan({"1R": ["pad_condition=oil"]}), "1")
    second = [step for step in steps if "second person" in step.text]
    assert len(second) == 1
    assert "signature" in second[0].record
    assert not any("second person" in step.text for step in steps_of(plan(DEAD), "2"))


@pytest.mark.parametrize("word", ["loose", "cracked", "bent"])
def test_a_carrier_asks_for_a_second_person_on_any_axle(word: str) -> None:
    gates = " ".join(step.gate for step in steps_of(plan({"2L": [f"carrier={word}"]}), "2"))
    assert "second person has checked the torque" in gates.lower()


@pytest.mark.parametrize(
    "finding",
    ["adjuster_test=turns back", "carrier=cracked", "rotor_thickness:beyond#rotor_min", "air_leak=audible"],
)
def test_work_that_opens_the_chamber_or_takes_the_calliper_off_warns_of_the_spring(finding: str) -> None:
    steps = steps_of(plan({"2L": [finding]}), "2")
    first_own = next(step for step in steps if step.at == "2L" and step.gate_number != "boots")
    assert any("cage" in caution.lower() for caution in first_own.cautions)


def test_hot_brakes_are_named_with_their_reading_before_hands_come_near() -> None:
    """Parts over 50 degC are not touched."""
    hot = steps_of(plan(DEAD, values={"2L": {"temperature": 444.15}}), "2")
    named = [step for step in hot if "2L was at 171 °C" in step.text or "2L was at 171 degC" in step.text]
    assert [step.gate_number for step in named] == ["3", "4"]
    assert all("Burns and tyre fire" in step.cautions for step in named)
    cold = steps_of(plan(DEAD, values={"2L": {"temperature": 313.15}}), "2")
    assert "was at" not in text_of(cold)


def test_every_caution_named_in_a_step_stands_in_full_in_the_plan() -> None:
    job = plan({"2L": ["adjuster_test=turns back", "rotor_thickness:beyond#rotor_min", "carrier=cracked"]})
    named = {caution.partition(":")[0] for step in steps_of(job, "2") for caution in step.cautions}
    assert named <= {caution.partition(":")[0] for caution in job.cautions}
    assert len(named) == 9


def test_work_that_is_not_sure_says_so_in_its_step() -> None:
    text = text_of(steps_of(plan({"1R": ["slide=stuck"]}), "1"))
    assert "S5 calliper exchange (or else: a full guide kit (S2)" in text
    assert "S2 guide pins, bushings and boots (depends: in place of" in text


def test_checks_not_taken_are_asked_for_where_the_job_is_decided() -> None:
    steps = steps_of(plan(DEAD, not_taken={"2L": ("retainer", "stem_cap")}), "2")
    assert [step.gate_number for step in steps if "not taken so far: 2 at 2L" in step.text] == ["7"]


def test_fields_to_fill_in_are_found_left_torque_time_and_signature() -> None:
    fields = {field for step in steps_of(plan(DEAD), "2") for field in step.record}
    assert {"as found", "as left", "torque", "time", "signature"} <= fields


def test_a_kit_ends_with_play_under_a_third_of_the_limit() -> None:
    """0.039 in is a third of 0.118 in, 0.026 in a third of 0.078 in, rounded (common practice, no source)."""
    gates = " ".join(step.gate for step in steps_of(plan({"2L": ["guide_pin_boot=torn"]}), "2"))
    assert "0.039 in tangential and 0.026 in radial" in gates
    assert round(0.118 / 3, 3) == 0.039
    assert round(0.078 / 3, 3) == 0.026
