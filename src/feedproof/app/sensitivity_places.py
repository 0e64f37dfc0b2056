"""
Putting many values into a case at once.

`feedproof.app.spread.with_value` finds the place of one value and makes a new case; a sampler
does that ten thousand times for each value.  Here the places are found once, by looking at what
`with_value` changes, and a sample then makes each object that holds a varied value only once.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any

from feedproof.app.spread import with_value
from feedproof.case.case import Case
from feedproof.core.errors import InputError
from feedproof.core.values import SourcedValue

Place = tuple[str | int, ...]
"""Names, keys and positions that lead from a case to a number in it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """
    Where the values of a sample go.

    Parameters
    ----------
    case : Case
        The case.
    paths : tuple of str
        Paths of the values.
    values : tuple of SourcedValue
        The values that the case holds there.
    tree : dict
        Places that hold a value as it is, by their first step, and so on; the leaves are
        positions in ``paths``.
    derived : tuple of int
        Positions of those that move more than one number, or another one than themselves.
    """

    case: Case
    paths: tuple[str, ...]
    values: tuple[SourcedValue, ...]
    tree: dict[str | int, Any]
    derived: tuple[int, ...]

    def put(self, sample: list[float]) -> Case:
        """
        Give the case with other values.

        Parameters
        ----------
        sample : list of float
            One for each path. [SI]

        Returns
        -------
        Case
            As if `with_value` had put them one after the other.

        Raises
        ------
        InputError
            A value that cannot be moved together with the others.
        """
        case = self.case
        for index in self.derived:
            changed = with_value(case, self.paths[index], self.values[index], sample[index])
            if changed is None:
                raise InputError.at(
                    self.paths[index],
                    "cannot be moved together with the other values that have a range.",
                    "Take the range away here, or from the value that it belongs to.",
                )
            case = changed
        changed = _put(case, self.tree, sample)
        assert isinstance(changed, Case)
        return changed


def find_places(case: Case, ranges: Mapping[str, tuple[SourcedValue, float, float]]) -> Places:
    """
    Find the places of values in a case.

    Parameters
    ----------
    case : Case
        The case.
    ranges : mapping of str to (SourcedValue, float, float)
        Value that the case holds, and the ends of its range, by path; each of them is one that
        `with_value` can move. [SI]

    Returns
    -------
    Places
        For any number of samples.
    """
    plain: dict[Place, int] = {}
    derived = []
    for index, (path, (value, low, high)) in enumerate(ranges.items()):
        place = _plain_place(case, path, value, (low, 0.5 * (low + high), high))
        if place is None or place in plain:
            derived.append(index)
        else:
            plain[place] = index
    tree: dict[str | int, Any] = {}
    for place, index in plain.items():
        node = tree
        for step in place[:-1]:
            node = node.setdefault(step, {})
        node[place[-1]] = index
    return Places(
        case=case,
        paths=tuple(ranges),
        values=tuple(value for value, _, _ in ranges.values()),
        tree=tree,
        derived=tuple(derived),
    )


def _plain_place(
    case: Case, path: str, value: SourcedValue, probes: tuple[float, ...]
) -> Place | None:
    """Give the one place that takes a value as it is, or None when there is no such place."""
    found: set[Place] = set()
    for probe in probes:
        if probe == value.value:
            continue
        changed = with_value(case, path, value, probe)
        moved = list(_moved(case, changed)) if changed is not None else []
        if len(moved) != 1 or moved[0][1] != probe:
            return None
        found.add(moved[0][0])
    return found.pop() if len(found) == 1 else None


def _moved(before: Any, after: Any, place: Place = ()) -> list[tuple[Place, Any]]:
    """List the places at which two cases differ, with what stands there afterwards."""
    if before is after:
        return []
    steps: list[tuple[str | int, Any, Any]] | None = None
    if is_dataclass(before) and type(before) is type(after):
        steps = [
            (field.name, getattr(before, field.name), getattr(after, field.name))
            for field in fields(before)
        ]
    elif isinstance(before, tuple) and isinstance(after, tuple) and len(before) == len(after):
        steps = [(index, *pair) for index, pair in enumerate(zip(before, after, strict=True))]
    elif isinstance(before, Mapping) and isinstance(after, Mapping) and set(before) == set(after):
        steps = [(key, before[key], after[key]) for key in before]
    if steps is None:
        return [] if before == after else [(place, after)]
    return [found for step, old, new in steps for found in _moved(old, new, (*place, step))]


def _put(owner: Any, tree: dict[str | int, Any], sample: list[float]) -> Any:
    """Rebuild an object with the values of a sample in it."""
    if not tree:
        return owner
    if isinstance(owner, tuple):
        items = list(owner)
        for step, node in tree.items():
            assert isinstance(step, int)
            items[step] = _leaf(items[step], node, sample)
        return tuple(items)
    if isinstance(owner, Mapping):
        return {**owner, **{key: _leaf(owner[key], node, sample) for key, node in tree.items()}}
    changes = {
        str(key): _leaf(getattr(owner, str(key)), node, sample) for key, node in tree.items()
    }
    return replace(owner, **changes)


def _leaf(held: Any, node: Any, sample: list[float]) -> Any:
    """Give the value for a leaf, or the rebuilt object below."""
    return sample[node] if isinstance(node, int) else _put(held, node, sample)
