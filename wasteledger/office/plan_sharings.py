"""Which streams may share a container, as a plan's own answers and the ordinances in force have it together."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence

from wasteledger.model.streams import Sharing, SharingMatrix
from wasteledger.ordinance.figures import SaidBy
from wasteledger.ordinance.rules import SharingRule
from wasteledger.ordinance.words import Together

Origins = Mapping[frozenset[str], tuple[str, ...]]


def lay_rules_over(matrix: SharingMatrix, rules: Sequence[SaidBy[SharingRule]]) -> tuple[SharingMatrix, Origins]:
    """The matrix with the ordinances' rules laid over it, and for each pair that a rule decides, which rule does.

    The strictest answer holds, the matrix's own among them. Where a nearer authority's override says whether a pair may
    lie together, its word stands instead of the rule that it names and of the matrix, whether stricter or not; another
    ordinance's rule that is stricter still holds. Streams that the matrix does not know are left alone.
    """
    by_pair: defaultdict[frozenset[str], list[SaidBy[SharingRule]]] = defaultdict(list)
    for said in rules:
        if matrix.words.keys() >= set(said.provision.streams):
            by_pair[frozenset(said.provision.streams)].append(said)
    pairs, origins = dict(matrix.pairs), {}
    for pair, of_pair in by_pair.items():
        answers = [said.provision.together for said in of_pair]
        if not any(_has_other_word(said.provision) for said in of_pair):
            answers.append(Together(matrix.between(*pair).value))
        strictest = max(answers, key=lambda answer: answer.strictness)
        pairs[pair] = Sharing(strictest.value)
        if deciding := tuple(_origin(said) for said in of_pair if said.provision.together is strictest):
            origins[pair] = deciding
    return SharingMatrix(matrix.words, pairs), origins


def _has_other_word(rule: SharingRule) -> bool:
    return rule.override is not None and rule.override.together is not None


def _origin(said: SaidBy[SharingRule]) -> str:
    rule = said.provision
    doubt = "" if rule.confirmed else " (not confirmed)"
    if rule.override is None or not _has_other_word(rule):
        return f"{said.ordinance.title}, {rule.citation}{doubt}"
    by = rule.override
    own_doubt = "" if by.confirmed else " (not confirmed)"
    return f"{by.by_title}, {by.citation}{own_doubt}, laid over {said.ordinance.title}, {rule.citation}{doubt}"
