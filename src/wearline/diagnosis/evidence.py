"""What speaks for and against a cause, reading by reading, and which reading does not fit the others."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wearline.diagnosis.compare import ORDER
from wearline.diagnosis.infer import Posterior
from wearline.diagnosis.network import Compiled
from wearline.diagnosis.observe import Observed
from wearline.diagnosis.results import Misfit
from wearline.diagnosis.wording import Speaker
from wearline.diagnosis.workspace import share_of, workspace

__all__ = ["EndEvidence", "node_text"]

Floats = NDArray[np.float64]

_NOTED = 0.35
"""[nat] A reading that changes the odds by less is not named."""

_MOST = 6
_SURPRISE = 4.5e-3
"""A reading so much less probable than its most usual value does not fit the others (expert judgement)."""


def node_text(compiled: Compiled, speaker: Speaker, row: int, name: str) -> str:
    """Return a node in words.

    Parameters
    ----------
    compiled : Compiled
        The network.
    speaker : Speaker
        Says readings.
    row : int
        Wheel end.
    name : str
        Node or comparison.

    Returns
    -------
    str
        The reading.
    """
    network = compiled.network
    if name in network.comparisons:
        return speaker.compared(row, name)
    if name in network.words:
        return speaker.word(row, network.words[name])
    node = network.nodes[name]
    return speaker.number(row, name, node.label, node.unit)


@dataclass(frozen=True, slots=True, eq=False)
class EndEvidence:
    """Evidence at one wheel end.

    Parameters
    ----------
    compiled : Compiled
        The network.
    observed : Observed
        Readings.
    posterior : Posterior
        What follows.
    row : int
        Wheel end.
    """

    compiled: Compiled
    observed: Observed
    posterior: Posterior
    row: int

    def logs(self, sets: NDArray[np.int64]) -> Floats:
        """Return the log-likelihood of every node under some sets of causes.

        Parameters
        ----------
        sets : array of int, shape (S, 3)
            Sets, filled up with K.

        Returns
        -------
        array, shape (S, J + comparisons)
            Nodes, then the comparisons in their order.
        """
        compiled, row = self.compiled, self.row
        total = compiled.weight[:, sets].sum(axis=2) + compiled.leak[:, None]
        mixed = self.observed.caused[row][:, sets].sum(axis=2) + self.observed.leak[row][:, None]
        weight_shared, mixed_shared = self._shared_part()
        total, mixed = total + weight_shared[:, None], mixed + mixed_shared[:, None]
        likelihood = np.exp(-total) * self.observed.sound[row][:, None] + share_of(total) * mixed
        nodes = compiled.exponent * np.log(np.maximum(likelihood, 1e-300)).T
        return np.concatenate([nodes, self._compared(sets)], axis=1)

    def _shared_part(self) -> tuple[Floats, Floats]:
        """What causes of axle and vehicle that are present already do to the nodes of this end."""
        member = workspace(self.compiled).shared.member
        present = (self.posterior.shared[self.row] @ member > 0.5).astype(float)
        return self.compiled.shared_weight @ present, self.observed.shared[self.row] @ present

    def _compared(self, sets: NDArray[np.int64]) -> Floats:
        levels = []
        for id in ORDER:
            compared = self.compiled.compared[id]
            total = compared.weight[sets].sum(axis=1) + compared.leak_weight
            chance = share_of(total)[:, None] * (compared.levels[sets].sum(axis=1) + compared.leak_levels)
            chance[:, 0] += np.exp(-total)
            levels.append(chance)
        partner = self.posterior.partner[self.row]
        usual = [chance.mean(axis=0) for chance in levels]
        found = []
        for place, chance in enumerate(levels):
            others = [usual[other] for other in range(3) if other != place]
            axes = [other for other in range(3) if other != place]
            message = np.tensordot(partner, others[1], axes=([axes[1]], [0]))
            message = np.tensordot(message, others[0], axes=([axes[0]], [0]))
            found.append(np.log(np.maximum(chance @ message, 1e-300)))
        return np.stack(found, axis=1)

    def of_cause(self, code: str, speaker: Speaker) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """Return what speaks for a cause and against it.

        Parameters
        ----------
        code : str
            The cause.
        speaker : Speaker
            Says readings.

        Returns
        -------
        tuple of str, tuple of str
            Readings in words, the weightiest first.

        Notes
        -----
        The most probable set of causes with this one is held against the same set without it.
        """
        compiled = self.compiled
        items = [item for item, (name, _) in enumerate(compiled.items) if name == code]
        sets, mass = self.posterior.sets[self.row], self.posterior.mass[self.row]
        with_it = np.isin(sets, items).any(axis=1)
        best = sets[np.flatnonzero(with_it)[np.argmax(mass[with_it])]]
        count = len(compiled.items)
        without = np.sort(np.where(np.isin(best, items), count, best))
        change = np.diff(self.logs(np.stack([without, best])), axis=0)[0]
        names = (*compiled.nodes, *ORDER)
        taken = np.append(
            self.observed.taken[self.row],
            [not np.isnan(self.observed.compared[id][0][self.row]) for id in ORDER],
        )
        order = np.argsort(-np.abs(change))
        told = [place for place in order if taken[place] and abs(change[place]) > _NOTED]
        texts = [(change[place] > 0, node_text(compiled, speaker, self.row, names[place])) for place in told]
        supports = tuple(dict.fromkeys(text for sign, text in texts if sign))[:_MOST]
        against = tuple(dict.fromkeys(text for sign, text in texts if not sign))[:_MOST]
        return supports, against

    def misfit(self, speaker: Speaker) -> Misfit | None:
        """Return the reading that fits the others least, if it does not fit at all.

        Parameters
        ----------
        speaker : Speaker
            Says readings.

        Returns
        -------
        Misfit or None
            None where the readings fit together.

        Notes
        -----
        P(x | the others) = 1 / sum_S P(S | all) / P(x | S), against the greatest density that any cause or a
        sound brake gives to the reading.
        """
        sets, mass = self.posterior.sets[self.row], self.posterior.mass[self.row]
        used = mass > 1e-9
        nodes = len(self.compiled.nodes)
        logs = self.logs(sets[used])[:, :nodes]
        predicted = 1.0 / (mass[used][:, None] / np.maximum(np.exp(logs), 1e-300)).sum(axis=0)
        single = np.full((len(self.compiled.items) + 1, 3), len(self.compiled.items))
        single[1:, 0] = np.arange(len(self.compiled.items))
        possible = np.exp(self.logs(single)[:, :nodes]).max(axis=0)
        ratio = np.where(self.observed.taken[self.row], predicted / possible, 1.0)
        place = int(np.argmin(ratio))
        if ratio[place] >= _SURPRISE:
            return None
        reading = node_text(self.compiled, speaker, self.row, self.compiled.nodes[place])
        return Misfit(
            text=f"These readings do not fit together: {reading} has no likely cause beside the others.",
            repeat=f"Repeat: {reading}.",
            check=self.compiled.nodes[place],
            surprise=float(ratio[place]),
        )
