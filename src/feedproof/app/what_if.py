"""
What if: one set of conditions asked of the baseline and up to two kits, fast enough for a slider.

Everything comes from the functions that `predict` is made of; a case is prepared once and kept by
the hash of its document.
"""

import hashlib
import threading
from collections import OrderedDict
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from feedproof.app.envelope_maps import maps_of
from feedproof.app.predicting import BASELINE
from feedproof.app.prediction_findings import findings_of
from feedproof.app.spoken import configuration_words
from feedproof.app.surveying import survey_case
from feedproof.app.what_if_asked import WhatIf, base_fuel, conditions_of, faults_of
from feedproof.app.what_if_controls import Controls, controls_of
from feedproof.app.what_if_fuels import Fuels
from feedproof.app.what_if_result import Refused, WhatIfAnswer, WhatIfConfiguration
from feedproof.app.what_if_solve import solved
from feedproof.case.case import Case
from feedproof.case.conditions import Conditions
from feedproof.core.errors import InputError
from feedproof.records.folder import CASE, CaseFolder
from feedproof.report.model import EnvelopeMap

MOST_CASES, MOST_ANSWERS = 8, 400
"""Prepared cases, and answers of each, that are kept."""

Key = TypeVar("Key")
Value = TypeVar("Value")


class PreparedCase:
    """
    A case made ready to be asked again and again; safe to be shared by threads.

    Parameters
    ----------
    case : Case
        The case.
    content : bytes
        Its document.
    """

    def __init__(self, case: Case, content: bytes) -> None:
        self.case = case
        self.fuels = Fuels(case, content)
        self._answers: OrderedDict[str, WhatIfConfiguration] = OrderedDict()
        self._cases: OrderedDict[tuple[str, str | None, float], tuple[Case, str]] = OrderedDict()
        self._maps: OrderedDict[tuple[tuple[str, ...], str], tuple[EnvelopeMap, ...]] = (
            OrderedDict()
        )
        self._lock = threading.Lock()

    def controls(self, asked: WhatIf | None = None) -> Controls:
        """
        Give the sliders and choices for a question.

        Parameters
        ----------
        asked : WhatIf, optional
            The question that they stand at; the reference when left out.

        Returns
        -------
        Controls
            Ends, steps and present values.
        """
        return controls_of(self.case, self.fuels, asked or WhatIf())

    def answer(self, asked: WhatIf) -> WhatIfAnswer:
        """
        Answer a question.

        Parameters
        ----------
        asked : WhatIf
            The question.

        Returns
        -------
        WhatIfAnswer
            Figures equal to those of `predict` under the same conditions.

        Raises
        ------
        InputError
            All that is wrong with the question at once, or why the line without a kit has no
            state.
        """
        self._check(asked)
        case, fuel = self._with_fuel(asked)
        conditions = conditions_of(self.case, asked, fuel)
        speed = self.case.pull.stop_m_per_s if asked.speed_m_per_s is None else asked.speed_m_per_s
        found: list[WhatIfConfiguration] = []
        refused: list[Refused] = []
        for place, name in enumerate((BASELINE, *asked.kits)):
            kits = () if name == BASELINE else tuple(name.split("+"))
            try:
                found.append(self._configuration(case, kits, conditions, speed, place, asked))
            except InputError as fault:
                if not kits:
                    raise
                short = configuration_words(case, name).short
                refused.append(
                    Refused(configuration=name, short=short, findings=tuple(fault.findings))
                )
        return WhatIfAnswer(
            asked=asked,
            conditions=conditions,
            speed_m_per_s=speed,
            engine_speed_rev_per_s=found[0].staircase.engine_speed_rev_per_s,
            limit_abs_pa=case.vehicle.pump.maker_limit_abs_pa,
            configurations=tuple(found),
            refused=tuple(refused),
            findings=findings_of(case, found, conditions),
        )

    def maps(self, asked: WhatIf) -> tuple[Case, str, tuple[EnvelopeMap, ...]]:
        """
        Survey the configurations of a question over fuel temperature and altitude, once.

        Parameters
        ----------
        asked : WhatIf
            Its kits and its fuel are taken.

        Returns
        -------
        case : Case
            With the fuel.
        fuel : str
            Its name there.
        maps : tuple of EnvelopeMap
            The baseline first.

        Raises
        ------
        InputError
            All that is wrong with the question at once.
        """
        self._check(asked)
        case, fuel = self._with_fuel(asked)
        key = (asked.kits, fuel)
        with self._lock:
            if key in self._maps:
                return case, fuel, self._maps[key]
        found = maps_of(case, survey_case(case, kits=asked.kits, fuel=fuel, mends=False))
        with self._lock:
            _keep(self._maps, key, found, MOST_CASES)
        return case, fuel, found

    def _check(self, asked: WhatIf) -> None:
        """Refuse a question that cannot be answered."""
        fuel = base_fuel(self.case, asked)
        faults = [*faults_of(self.case, asked), *self.fuels.faults(fuel, asked.blend_with)]
        if faults:
            raise InputError(faults)

    def _with_fuel(self, asked: WhatIf) -> tuple[Case, str]:
        """Give the case with the fuel that is asked about, made once."""
        key = (base_fuel(self.case, asked), asked.blend_with, asked.blend_fraction)
        with self._lock:
            if key in self._cases:
                return self._cases[key]
        made = self.fuels.with_fuel(*key)
        with self._lock:
            _keep(self._cases, key, made, MOST_ANSWERS)
        return made

    def _configuration(
        self,
        case: Case,
        kits: tuple[str, ...],
        conditions: Conditions,
        speed_m_per_s: float,
        place: int,
        asked: WhatIf,
    ) -> WhatIfConfiguration:
        """Give one configuration, from what was answered before where it was."""
        key = repr((kits, conditions, speed_m_per_s, asked.ranges))
        with self._lock:
            if key in self._answers:
                self._answers.move_to_end(key)
                return replace(self._answers[key], place=place)
        answer = solved(case, kits, conditions, speed_m_per_s, place, ranges=asked.ranges)
        with self._lock:
            _keep(self._answers, key, answer, MOST_ANSWERS)
        return answer


_PREPARED: OrderedDict[str, PreparedCase] = OrderedDict()
_PREPARED_LOCK = threading.Lock()


def prepared_case(path: Path) -> PreparedCase:
    """
    Prepare the case of a folder, or give it as it was prepared before.

    Parameters
    ----------
    path : Path
        Folder of the case.

    Returns
    -------
    PreparedCase
        Kept by the hash of the document: any change of it is a new one.

    Raises
    ------
    MissingError
        There is no case.
    InputError
        All mistakes of the document.
    """
    folder = CaseFolder.open(path)
    key = hashlib.sha256((folder.path / CASE).read_bytes()).hexdigest()
    with _PREPARED_LOCK:
        if key in _PREPARED:
            _PREPARED.move_to_end(key)
            return _PREPARED[key]
    loaded = folder.load()
    made = PreparedCase(loaded.case, loaded.content)
    with _PREPARED_LOCK:
        # The document may have changed since it was hashed: kept under what was read.
        _keep(_PREPARED, loaded.sha256, made, MOST_CASES)
    return made


def _keep(kept: OrderedDict[Key, Value], key: Key, value: Value, most: int) -> None:
    """Keep a value and let the one go that was asked for longest ago."""
    kept[key] = value
    kept.move_to_end(key)
    while len(kept) > most:
        kept.popitem(last=False)
