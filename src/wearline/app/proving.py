"""Did the job restore the brake? Two inspections of one vehicle, before and after."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from wearline.app.capability_answer import rounded
from wearline.app.judging import Request, judge_inspection
from wearline.assessment.proof import prove
from wearline.assessment.proof_results import AxleProof, EndProof, Proof, Restored
from wearline.assessment.results import Judgement
from wearline.catalogue.loading import Catalogue
from wearline.errors import InputError
from wearline.planning.job import plan_job_from
from wearline.planning.open_gates import OpenGate, open_gates

if TYPE_CHECKING:
    from wearline.app.answer_types_braking import AxleProofJson, EndProofJson, ProofAnswer

__all__ = ["Proven", "all_restored", "proof_answer", "prove_repair"]


@dataclass(frozen=True, slots=True)
class Proven:
    """A proof with the gates it leaves open.

    Parameters
    ----------
    proof : Proof
        Wheel end by wheel end.
    open_gates : tuple of OpenGate
        Gates of the job planned from the file as found.
    catalogue : Catalogue
        With the maker's limits that were given.
    """

    proof: Proof
    open_gates: tuple[OpenGate, ...]
    catalogue: Catalogue


def prove_repair(before: Request, after: Request, *, bedded: bool | None = None) -> Proven:
    """Hold a vehicle as left against the same vehicle as found.

    Parameters
    ----------
    before, after : Request
        The two files.
    bedded : bool, optional
        Whether new pads are bedded, where somebody says so.

    Returns
    -------
    Proven
        Verdict of each wheel end and the gates still open.

    Raises
    ------
    InputError
        If a file is wrong, or the two do not belong together.
    """
    if str(before.path) == "-" and str(after.path) == "-":
        raise InputError(
            "both files cannot come from standard input",
            where="proof",
            allowed="'-' for one of the two",
            cure="Save one of them as a file",
        )
    opened, found = judge_inspection(before)
    left_open, left = judge_inspection(after)
    proof = prove(
        (opened.inspection, found),
        (left_open.inspection, left),
        left_open.catalogue,
        after.decision,
        bedded=bedded,
    )
    plan = plan_job_from(opened.inspection, _undoubted(found), opened.catalogue)
    return Proven(proof, open_gates(plan, left, proof), left_open.catalogue)


def _undoubted(judgement: Judgement) -> Judgement:
    """Warnings of the file as found are history: they asked for nothing that can still be done."""
    return replace(judgement, warnings=())


def all_restored(proven: Proven) -> bool:
    """Return whether every wheel end is shown to be restored.

    Parameters
    ----------
    proven : Proven
        The proof.

    Returns
    -------
    bool
        False is exit code 1 of the command. Gates that wait for a signature do not count.
    """
    return all(end.restored is Restored.RESTORED for end in proven.proof.wheel_ends)


def proof_answer(proven: Proven) -> ProofAnswer:
    """Return a proof as JSON values.

    Parameters
    ----------
    proven : Proven
        The proof.

    Returns
    -------
    ProofAnswer
        Under schema ``wearline.proof/1``.
    """
    proof = proven.proof
    return {
        "schema": "wearline.proof/1",
        "vehicle": {"id": proof.vehicle_id},
        "before_on": proof.before_on.isoformat(),
        "after_on": proof.after_on.isoformat(),
        "wheel_ends": [_end(end) for end in proof.wheel_ends],
        "axles": [_axle(axle) for axle in proof.axles],
        "efficiency_before_percent": _percent(proof.efficiency_before),
        "efficiency_after_percent": _percent(proof.efficiency_after),
        "bedded": proof.bedded,
        "open_gates": [
            {"gate": gate.gate, "at": gate.at, "text": gate.text, "because": gate.because, "kind": gate.kind}
            for gate in proven.open_gates
        ],
        "warnings": [
            {"code": notice.code, "text": notice.text, "where": notice.where, "cure": notice.cure}
            for notice in proof.warnings
        ],
        "cautions": [statement.text for statement in proven.catalogue.work.authority],
    }


def _percent(share: float | None) -> float | None:
    return None if share is None else rounded(100.0 * share)


def _kilo(force: float | None) -> float | None:
    return None if force is None else rounded(force / 1e3)


def _end(end: EndProof) -> EndProofJson:
    return {
        "at": end.place,
        "restored": str(end.restored),
        "probability": rounded(end.probability),
        "probability_worse": rounded(end.probability_worse),
        "force_before_kN": _kilo(end.force_before),
        "force_after_kN": _kilo(end.force_after),
        "gain_needed_percent": _percent(end.gain_needed),
        "raw_pads": end.raw,
        "advice": end.advice,
        "evidence": [
            {
                "check": item.check,
                "text": item.text,
                "shown": item.shown,
                "probability": None if item.probability is None else rounded(item.probability),
                "decides": item.decides,
            }
            for item in end.evidence
        ],
    }


def _axle(axle: AxleProof) -> AxleProofJson:
    return {
        "axle": axle.axle,
        "imbalance_before": _percent(axle.imbalance_before),
        "imbalance_after": _percent(axle.imbalance_after),
        "unit": "%",
        "u_before": _percent(axle.u_before),
        "u_after": _percent(axle.u_after),
        "p_within_rule": None if axle.p_within_rule is None else rounded(axle.p_within_rule),
        "p_within_aim": None if axle.p_within_aim is None else rounded(axle.p_within_aim),
        "total_before_kN": _kilo(axle.total_before),
        "total_after_kN": _kilo(axle.total_after),
        "text": axle.text,
    }
