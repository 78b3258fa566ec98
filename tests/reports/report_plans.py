"""An invented road decision and job plan, made by hand for the report tests."""

from __future__ import annotations

from wearline.assessment.road_results import (
    BrakeCount,
    Capability,
    FourAnswers,
    PackAnswer,
    Reason,
    RoadDecision,
    RuleAnswer,
)
from wearline.planning.results import AxleJob, Hours, JobPlan, JobStep, PartNeed, Work


def road(level=3):
    rules = (
        RuleAnswer(
            "Pads of air disc brakes are not thinner than 1/8 in.",
            "49 CFR 393.47(d)",
            "cfr-393-47",
            "read",
            "not met",
            ("1R",),
            "Thinnest corner of 1R 3.1 mm; 1/8 in is 3.175 mm, the printed 3.2 mm is not the same.",
            True,
            "violation",
        ),
        RuleAnswer(
            "Defective brakes are fewer than 20 % of all.",
            "out-of-service criteria, brake systems",
            "oos-criteria",
            "transcription",
            "not met",
            ("1R",),
            "1 of 4 brakes, 25 %.",
            True,
            "out of service",
        ),
        RuleAnswer(
            "Wheels of one axle differ by less than 30 %.",
            "recalled, not read",
            "oos-criteria-recalled",
            "memory",
            "not known",
            (),
            "Force of 1R not measured.",
            False,
            "shown only",
        ),
    )
    return RoadDecision(
        level,
        "tow, or repair on the spot",
        (
            Reason(
                3,
                "1R",
                "The brake at 1R does not work: one of four, and on the steer axle.",
                "common practice",
            ),
            Reason(2, "1R", "Travel is beyond 0.080 in.", "common practice"),
            Reason(1, "", "Pads of axle 1 will reach their limit before the next visit.", "derived"),
        ),
        (
            "Do not drive. Have it towed or repaired where it stands.",
            "Chock the wheels on both sides before any brake is released.",
        ),
        BrakeCount(1, 4, 0.25, 1, True, (("1R", "travel beyond 0.080 in"),), ("2R",)),
        Capability(0.525, 0.5, 88600.0, 168700.0, (("1", 0.34), ("2", 0.026)), ("2R",)),
        (
            PackAnswer("us-federal", "United States federal rules", "2025-01-16", "violation", rules[:1]),
            PackAnswer(
                "north-american-out-of-service",
                "North American out-of-service count",
                "2024-04-01",
                "out of service",
                rules[1:],
            ),
        ),
        FourAnswers(
            "1R is beyond its service limits at three checks; the rest as far as taken is within.",
            "1R does not apply as it should.",
            "52.5 % of the weight, axle 1 differs by 34 %.",
            "Out of service by the count; a violation by the federal rule.",
        ),
        ("No force was measured at 2R.", "No parking-brake force."),
    )


def plan(car):
    steps = tuple(
        JobStep(n + 1, text, "1", gate, number, cautions, record)
        for n, (text, gate, number, cautions, record) in enumerate(
            (
                (
                    "Identify vehicle, axle, calliper casting (left or right), pads and the maker's limits.",
                    "Limits and parts for this calliper are at hand.",
                    "1",
                    (),
                    (),
                ),
                (
                    "Chock both ways at a wheel that stays down, release or cage the spring brakes, lift, "
                    "set on stands, wheels off both ends.",
                    "Chocks, stands and release confirmed by a second look.",
                    "3",
                    (
                        "A jack only lifts; rated stands hold.",
                        "Cage the power spring by the maker's bolt; keep out of its axis.",
                    ),
                    ("time", "signature"),
                ),
                (
                    "Measure as found: total travel, adjuster, rotor, bearing.",
                    "All as-found readings are written before cleaning and winding back.",
                    "4",
                    ("Brakes are cold: below 50 °C.",),
                    ("as found", "signature"),
                ),
                (
                    "Fit pads, springs and retainer.",
                    "Both pads move by hand; friction faces the rotor.",
                    "9",
                    ("No fingers in the opening with air up.",),
                    ("as left", "torque", "signature"),
                ),
                (
                    "Uncage, wheels on, torque in order.",
                    "Spring brakes uncaged, chocks still in.",
                    "15",
                    (),
                    ("torque", "time", "signature"),
                ),
            )
        )
    )
    first = AxleJob(
        "1",
        (
            Work(
                "S5",
                "1R",
                "calliper exchange",
                ("the adjuster does not advance",),
                "depends",
                "If the bores measure sound: guide kit only.",
            ),
            Work("S1", "1", "pads, all four of the axle", ("wedge",)),
        ),
        steps,
        (
            PartNeed("exchange calliper, right hand", 1, "1R", "S5"),
            PartNeed("axle set of 4 pads with springs", 1, "1", "S1"),
            PartNeed("guide kit", 1, "1R", "instead of S5", True),
        ),
        Hours(2.6, 4.3, "S1 1.5 to 2.2 h, S5 0.8 to 1.5 h; expert judgement"),
        ("1L: guide-pin boots.",),
        (Work("cleaning", "1", "cleaning of the seats", ("salt",), "advised"),),
    )
    rest = tuple(
        AxleJob(axle.id, (), (), (), Hours(0.0, 0.0, "nothing to be done")) for axle in car.axles[1:]
    )
    return JobPlan(
        car.id,
        (first, *rest),
        ("Find out why the retarder is dead before any brake is renewed.",),
        (
            "Chock the wheels both ways before any brake is released.",
            "Power springs hold thousands of newtons: cage them before the chamber comes off.",
            "Never blow brake dust off; take every old pad for harmful dust.",
        ),
        (
            "Total travel within its limit at both ends.",
            "Roller test laden: difference across the axle 15 % or less after bedding.",
        ),
        ("As-found and as-left readings of each end.", "Torque record with the number of the wrench."),
        "The maker's instructions, the local code and a qualified person decide. It releases no vehicle.",
    )
