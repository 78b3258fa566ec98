"""What holds for every plan, whatever was found."""

from collections.abc import Mapping

from hypothesis import given, settings
from hypothesis import strategies as st
from job_builder import plan, works

from wearline.catalogue.job_choice import load_job_choice
from wearline.planning.results import JobPlan, JobStep

AXLES = (("1", "steer"), ("2", "drive"), ("3", "trailer"))
ENDS = tuple(f"{axle}{side}" for axle, _ in AXLES for side in "LR")


def _findings() -> list[str]:
    """Every finding that a rule asks for, in the notation of the builder."""
    names = {
        condition.rpartition(">")[2]
        for rule in load_job_choice().rules
        for condition in (*(name for group in rule.all for name in group), *rule.none)
    }
    no_finding = ("work:", "needed:", "sure:", "sign:", "note:", "design:", "role=", "noticed=", "not taken:")
    found = {
        name
        for name in names
        if not name.startswith(no_finding) and " high" not in name and " low" not in name
    }
    found -= {"next removal stated", "retarder not fitted", "hub_face_runout:within"}
    return sorted(found | {"total_travel:beyond#cl_max", "total_travel:beyond#cl_min"})


AT_ENDS = st.dictionaries(
    st.sampled_from(ENDS), st.lists(st.sampled_from(_findings()), max_size=4, unique=True), max_size=4
)
OF_VEHICLE = st.lists(
    st.sampled_from(["retarder=does not work", "efficiency:beyond", "wear:fast everywhere"]),
    max_size=2,
    unique=True,
)
DESIGNS = st.sampled_from(["generic-22.5", "generic-19.5", "generic-17.5"])


def _plan(at_ends: Mapping[str, list[str]], vehicle: list[str], design: str) -> JobPlan:
    return plan({**at_ends, "": vehicle}, axles=AXLES, design=design)


def _spine(steps: tuple[JobStep, ...]) -> list[int]:
    return [int(step.gate_number) for step in steps if step.gate_number.isdigit()]


@settings(deadline=None, max_examples=150)
@given(AT_ENDS, OF_VEHICLE, DESIGNS)
def test_every_plan_is_whole(at_ends: dict[str, list[str]], vehicle: list[str], design: str) -> None:
    job = _plan(at_ends, vehicle, design)
    assert [axle.axle for axle in job.axles] == ["1", "2", "3"]
    for axle in job.axles:
        has_work = bool(axle.work or axle.also)
        assert bool(axle.steps) == bool(axle.parts) == has_work
        spine = _spine(axle.steps)
        assert sorted(set(spine)) == (list(range(1, 19)) if has_work else [])
        assert spine == sorted(spine)
        assert 0.0 <= axle.hours.low <= axle.hours.high
        assert (axle.hours.high > 0.0) == has_work
        assert axle.why
    assert sum(axle.hours.low for axle in job.axles) <= job.hours.low + 1e-9
    assert job.decides


@settings(deadline=None, max_examples=150)
@given(AT_ENDS, OF_VEHICLE, DESIGNS)
def test_pads_and_rotors_are_never_renewed_at_one_end(
    at_ends: dict[str, list[str]], vehicle: list[str], design: str
) -> None:
    """Pads always all four of the axle, rotors both ends (common practice)."""
    job = _plan(at_ends, vehicle, design)
    for axle in job.axles:
        for work in axle.work:
            if work.code in ("S1", "S4"):
                assert work.at == axle.axle
        for part in axle.parts:
            assert part.count > 0
            if part.part == "pad":
                assert (part.count, part.at) == (4, axle.axle)
            if part.part == "rotor":
                assert (part.count, part.at) == (2, axle.axle)


@settings(deadline=None, max_examples=150)
@given(AT_ENDS, OF_VEHICLE, DESIGNS)
def test_new_callipers_and_rotors_bring_new_pads(
    at_ends: dict[str, list[str]], vehicle: list[str], design: str
) -> None:
    job = _plan(at_ends, vehicle, design)
    for axle in job.axles:
        standing = {work.code: work.standing for work in axle.work}
        for code in ("S4", "S5"):
            surely = any(work.code == code and work.standing == "needed" for work in axle.work)
            if surely:
                assert standing["S1"] == "needed"
            elif code in standing and standing[code] == "depends":
                assert "S1" in standing


@settings(deadline=None, max_examples=100)
@given(AT_ENDS, DESIGNS)
def test_every_step_with_a_caged_spring_brake_carries_its_caution(
    at_ends: dict[str, list[str]], design: str
) -> None:
    for axle in _plan(at_ends, [], design).axles:
        for step in axle.steps:
            if "cage" in step.text.lower():
                assert any(
                    caution.startswith("Stored energy of the spring brake:") for caution in step.cautions
                )


@settings(deadline=None, max_examples=100)
@given(AT_ENDS, OF_VEHICLE)
def test_left_and_right_are_treated_alike(at_ends: dict[str, list[str]], vehicle: list[str]) -> None:
    """A vehicle seen in a mirror gets the job in the mirror."""

    def mirrored(place: str) -> str:
        return place.translate(str.maketrans("LR", "RL"))

    job = works(_plan(at_ends, vehicle, "generic-22.5"))
    other = works(
        _plan({mirrored(place): found for place, found in at_ends.items()}, vehicle, "generic-22.5")
    )
    there = {(code, mirrored(at), work.standing, work.choice) for (code, at), work in other.items()}
    assert {(code, at, work.standing, work.choice) for (code, at), work in job.items()} == there


@settings(deadline=None, max_examples=100)
@given(AT_ENDS, OF_VEHICLE)
def test_every_piece_of_work_has_a_reason_and_a_choice_where_it_depends(
    at_ends: dict[str, list[str]], vehicle: list[str]
) -> None:
    for work in works(_plan(at_ends, vehicle, "generic-22.5")).values():
        assert work.because
        assert work.standing in ("needed", "depends", "advised")
        assert work.standing != "depends" or work.choice
        assert work.title
        assert work.status
