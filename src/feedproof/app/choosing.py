"""The verb ``choose``: a primary, a secondary, both or none, for this vehicle and this fuel."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from feedproof import __version__
from feedproof.app.choice_chance import DRAWS, Drawer, Drawn
from feedproof.app.choice_findings import findings_of
from feedproof.app.choice_ground import NO_KIT, SAMPLES, Ground, ground_of
from feedproof.app.choice_questions import starving_words, which_words
from feedproof.app.choice_rating import Rater, rate_all
from feedproof.app.choice_result import Answer, Choice, RatedKit, Rival, Wishes
from feedproof.app.choice_words import Told, answer_sentences, rule_words
from feedproof.app.progress import Progress, silent
from feedproof.app.servicing import loader_of
from feedproof.case.case import Case
from feedproof.core.errors import InputError
from feedproof.core.findings import error
from feedproof.feedline.plan import LinePlan
from feedproof.kits.bench import bench_of
from feedproof.kits.candidates import Catalogue, Kind, candidates_of
from feedproof.kits.front import Order, order_of

REFERENCE = "the reference conditions"
MOST_CANDIDATES = 20_000


def choose_case(
    case: Case,
    catalogue: Catalogue,
    wishes: Wishes,
    *,
    samples: int = SAMPLES,
    draws: int = DRAWS,
    progress: Progress = silent,
) -> Choice:
    """
    Choose for a case.

    Parameters
    ----------
    case : Case
        With supply, duty and worst conditions.
    catalogue : Catalogue
        What can be fitted.
    wishes : Wishes
        What is asked of it.
    samples, draws : int
        Vehicles followed over life, and vehicles drawn for the order.
    progress : Progress
        Told as the work goes on.

    Returns
    -------
    Choice
        The answer with what it rests on.

    Raises
    ------
    MissingError
        No supply or duty.
    InputError
        No worst conditions, no factory element, a line that is no chain in sums, an item to be
        left out that there is not, too many candidates.
    """
    candidates = candidates_of(_without(catalogue, wishes.left_out))
    if len(candidates) > MOST_CANDIDATES:
        raise InputError.at(
            "--catalogue",
            f"{len(candidates)} candidates; allowed is {MOST_CANDIDATES}.",
            "Leave items out that are no choice, with --leave-out.",
        )
    ground = ground_of(case, samples=samples)
    bare = ground.plan(NO_KIT)
    share = _share_at_reference(ground, bare)
    if wishes.at_least_m is None:
        unkitted = Rater(ground, wishes).rate(NO_KIT).interval_m
        wishes = replace(
            wishes,
            at_least_m=unkitted,
            assumed=("least interval, as without a kit", *wishes.assumed),
        )
    rater = Rater(ground, wishes)
    clean = rater.bench(NO_KIT).ask(bare, bare.media_per_m3)
    broken = clean.slack < 0.0
    rated = rate_all(rater, [NO_KIT] if broken else candidates, progress)
    fitting = [each for each in rated if not each.why_not]
    best = fitting[0] if fitting else None
    finalists = _finalists(fitting)
    by_id = {each.id: each for each in candidates}
    drawn = Drawer(rater, draws).score_all([(by_id[each.id], each) for each in finalists], progress)
    rivals = tuple(
        Rival(id=each.id, order=order_of(drawn[best.id].scores, drawn[each.id].scores))
        for each in finalists
        if best is not None and each.id != best.id
    )
    too_restricted = broken or share > wishes.baseline_share
    answer = _answer(best, too_restricted=too_restricted)
    limit = case.vehicle.pump.maker_limit_abs_pa
    choice = Choice(
        format="feedproof-choice",
        version=1,
        program=__version__,
        title=case.title,
        note=case.note,
        vehicle=case.vehicle.name,
        catalogue=catalogue.name,
        wishes=wishes,
        limit_abs_pa=limit,
        baseline_share=None if math.isnan(share) else share,
        baseline_slack=clean.slack,
        baseline_guard_pa=rater.guard_pa(NO_KIT),
        baseline_place=ground.bench.names[clean.place] if broken else REFERENCE,
        answer=answer,
        released=limit is not None and answer in (Answer.KIT, Answer.NONE),
        best=None if best is None else best.id,
        rivals=rivals,
        looked_at=len(rated),
        fitting=len(fitting),
        kits=_shown(rated, finalists),
        keeps_fraction={name: float(np.mean(found.keeps)) for name, found in drawn.items()},
        rule="",
        sentences=(),
        primary_or_secondary="",
        starves="",
        findings=(),
    )
    told = Told(
        choice=choice,
        largest_losses=_largest_losses(ground, clean.place),
        secondary_first=_secondary_first(choice, drawn),
    )
    return replace(
        choice,
        rule=rule_words(wishes),
        sentences=answer_sentences(told),
        primary_or_secondary=which_words(told),
        starves=starving_words(told),
        findings=findings_of(choice, case, catalogue),
    )


def _without(catalogue: Catalogue, left_out: Sequence[str]) -> Catalogue:
    """Leave items out, all names that there are not told at once."""
    known = {
        each.id for row in (catalogue.filters, catalogue.hoses, catalogue.places) for each in row
    }
    faults = [
        error(
            "--leave-out",
            f"the catalogue has no item {name!r}.",
            f"It has: {', '.join(sorted(known))}.",
        )
        for name in left_out
        if name not in known
    ]
    if faults:
        raise InputError(faults)
    return replace(
        catalogue,
        filters=tuple(each for each in catalogue.filters if each.id not in left_out),
        hoses=tuple(each for each in catalogue.hoses if each.id not in left_out),
        places=tuple(each for each in catalogue.places if each.id not in left_out),
    )


def _answer(best: RatedKit | None, *, too_restricted: bool) -> Answer:
    """Say what kind of answer it is."""
    if too_restricted:
        return Answer.TOO_RESTRICTED
    if best is None:
        return Answer.NOTHING_FITS
    return Answer.NONE if best.kind is Kind.NONE else Answer.KIT


def _finalists(fitting: Sequence[RatedKit]) -> list[RatedKit]:
    """Give the best, the best with other elements, and the best of each other kind."""
    found = list(fitting[:1])
    found += [each for each in fitting if each.elements != fitting[0].elements][:1]
    for kind in Kind:
        found += [each for each in fitting if each.kind is kind][:1]
    return list({each.id: each for each in found}.values())


def _shown(rated: Sequence[RatedKit], finalists: Sequence[RatedKit]) -> tuple[RatedKit, ...]:
    """Give the front's best for each set of elements, the finalists, and the worst secondary."""
    shown = {each.id for each in finalists}
    seen: set[tuple[str, ...]] = set()
    for each in rated:
        if each.on_front and each.elements not in seen:
            seen.add(each.elements)
            shown.add(each.id)
    for kind in Kind:
        # One of each kind is shown even where each of it breaks something.
        shown |= {each.id for each in [each for each in rated if each.kind is kind][:1]}
    alone = [each for each in rated if each.kind is Kind.SECONDARY]
    if alone:
        shown.add(min(alone, key=lambda each: (each.clean_slack, each.id)).id)
        shown.add(min(alone, key=lambda each: (each.interval_m, each.id)).id)
    return tuple(each for each in rated if each.id in shown)


def _share_at_reference(ground: Ground, bare: LinePlan) -> float:
    """Give what the clean line takes of the allowed depression at the reference conditions.

    The worst conditions are held against the limit itself, with elements at the end of their
    interval; this screens vehicles that have little left where they are tested.
    """
    case = ground.case
    loader = loader_of(case, (), {ground.factory.id: 1.0})
    share, _ = bench_of(loader, (case.reference,)).share_used(bare)
    return share


def _largest_losses(ground: Ground, place: int) -> tuple[tuple[str, float], ...]:
    """Name the two parts of the line without a kit that lose most under a condition."""
    circuit = ground.bench.circuits[place]
    speed = ground.bench.engine_speed_rev_per_s[-1:]
    injected = ground.bench.injected_m3_per_s[place][-1:]
    state = circuit.at(float(speed[0]), float(injected[0]))
    steps = sorted(circuit.steps(state), key=lambda each: -each.loss_pa)
    return tuple((each.part.title or each.part.id, each.loss_pa) for each in steps[:2])


def _secondary_first(choice: Choice, drawn: dict[str, Drawn]) -> Order | None:
    """Compare the best secondary with the best primary."""
    secondary, primary = choice.best_of(Kind.SECONDARY), choice.best_of(Kind.PRIMARY)
    if secondary is None or primary is None:
        return None
    return order_of(drawn[secondary.id].scores, drawn[primary.id].scores)
