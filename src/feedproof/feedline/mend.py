"""
The smallest change of a kit that would mend a failure: tried, not guessed.

Each kind of change is stepped from small to large and the line is solved again at the point that
failed; the first step that holds is the smallest, and the one before it is known to fail.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from feedproof.case.line import Kit
from feedproof.case.parts import Element, Fitting, Part, Pipe

BORE_STEP_M = 0.0005
LARGEST_BORE_M = 0.016
LENGTH_STEP = 0.1
AREA_STEP = 0.1
LARGEST_AREA_RATIO = 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Mend:
    """
    A change that was tried and holds.

    Parameters
    ----------
    what : str
        The change in words.
    kit : Kit
        The changed kit.
    slack, slack_before : float
        Least slack with this change and with the next smaller one (or none). [-]
    """

    what: str
    kit: Kit
    slack: float
    slack_before: float


def smallest_mends(kit: Kit, slack_of: Callable[[Kit], float]) -> tuple[Mend, ...]:
    """
    Try every kind of change on a kit that fails.

    Parameters
    ----------
    kit : Kit
        The kit.
    slack_of : callable
        Gives the least slack with a kit in its place, at the point that failed. [-]

    Returns
    -------
    tuple of Mend
        One for each kind of change that mends it by itself; empty when none does, and when the
        kit does not fail at all.
    """
    before = slack_of(kit)
    if before >= 0.0:
        return ()
    found = []
    for changes in (_wider, _shorter, _larger, _fewer):
        last = before
        for what, changed in changes(kit):
            slack = slack_of(changed)
            if slack >= 0.0:
                found.append(Mend(what=what, kit=changed, slack=slack, slack_before=last))
                break
            last = slack
    return tuple(found)


def _changed(kit: Kit, change: Callable[[Part], Part | None]) -> Kit:
    """Change every part of a kit; None takes a part out."""
    insertions = []
    for insertion in kit.insertions:
        parts = (change(part) for part in insertion.parts)
        insertions.append(
            replace(insertion, parts=tuple(part for part in parts if part is not None))
        )
    return replace(kit, insertions=tuple(insertions))


def _wider(kit: Kit) -> Iterator[tuple[str, Kit]]:
    """Widen hoses and fittings that are narrower than a bore, half a millimetre at a time."""
    bores = [
        part.bore_m
        for insertion in kit.insertions
        for part in insertion.parts
        if isinstance(part, Pipe | Fitting)
    ]
    if not bores:
        return
    steps = round((LARGEST_BORE_M - min(bores)) / BORE_STEP_M)
    for step in range(1, steps + 1):
        bore = min(bores) + step * BORE_STEP_M

        def widen(part: Part, bore: float = bore) -> Part:
            if isinstance(part, Pipe | Fitting) and part.bore_m < bore:
                return replace(part, bore_m=bore)
            return part

        yield f"hoses and fittings of at least {1e3 * bore:.1f} mm bore", _changed(kit, widen)


def _shorter(kit: Kit) -> Iterator[tuple[str, Kit]]:
    """Shorten the hoses, a tenth at a time."""
    if not any(isinstance(part, Pipe) for each in kit.insertions for part in each.parts):
        return
    for step in range(1, 10):
        share = 1.0 - step * LENGTH_STEP

        def shorten(part: Part, share: float = share) -> Part:
            return replace(part, length_m=part.length_m * share) if isinstance(part, Pipe) else part

        yield f"hoses {100 * (1 - share):.0f} % shorter", _changed(kit, shorten)


def _larger(kit: Kit) -> Iterator[tuple[str, Kit]]:
    """Enlarge the elements' media, a tenth at a time; the housing stays."""
    if not any(isinstance(part, Element) for each in kit.insertions for part in each.parts):
        return
    steps = round((LARGEST_AREA_RATIO - 1.0) / AREA_STEP)
    for step in range(1, steps + 1):
        ratio = 1.0 + step * AREA_STEP

        def enlarge(part: Part, ratio: float = ratio) -> Part:
            if isinstance(part, Element):
                return replace(
                    part,
                    face_area_m2=part.face_area_m2 * ratio,
                    loading_scale_kg=part.loading_scale_kg * ratio,
                )
            return part

        yield f"elements with {ratio:.1f} times the media", _changed(kit, enlarge)


def _fewer(kit: Kit) -> Iterator[tuple[str, Kit]]:
    """Leave fittings out, one at a time from the lossiest kind."""
    fittings = [part for each in kit.insertions for part in each.parts if isinstance(part, Fitting)]
    if not fittings:
        return
    worst = max(fittings, key=lambda part: part.turbulent_coefficient / part.bore_m**4)
    for fewer in range(1, worst.count + 1):

        def remove(part: Part, fewer: int = fewer) -> Part | None:
            if part.id == worst.id and isinstance(part, Fitting):
                left = part.count - fewer
                return replace(part, count=left) if left > 0 else None
            return part

        yield f"{fewer} fewer of {worst.title or worst.id}", _changed(kit, remove)
