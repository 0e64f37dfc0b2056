"""What a choice rests on, and what must be known with it."""

from feedproof.app.choice_result import Choice
from feedproof.app.choice_words import km
from feedproof.app.rated import rating_findings
from feedproof.app.service_dirt import service_findings
from feedproof.app.supply_told import FOR_CHOICE
from feedproof.case.case import Case
from feedproof.core.findings import Finding, note, warning
from feedproof.kits.candidates import Catalogue
from feedproof.kits.filters import curve_of
from feedproof.physics.filter_rating import rating_doubts
from feedproof.physics.fuel_water import NOT_STOPPED


def findings_of(choice: Choice, case: Case, catalogue: Catalogue) -> tuple[Finding, ...]:
    """
    Say what the choice rests on.

    Parameters
    ----------
    choice : Choice
        The choice.
    case : Case
        The case.
    catalogue : Catalogue
        Where candidates come from.

    Returns
    -------
    tuple of Finding
        Warnings first.
    """
    found = []
    if choice.limit_abs_pa is None:
        found.append(
            warning(
                "vehicle.pump.maker_limit_abs",
                "no limit known: nothing is released, candidates are ranked only.",
                "Ask the pump's maker for the least absolute inlet pressure.",
            )
        )
    petrol = [each for each in case.fuels.values() if each.petrol_fraction > 0.0]
    found += [
        warning(
            f"fuel.{each.name}",
            f"the fuel holds {100 * each.petrol_fraction:.0f} % petrol: no filter takes it out.",
            "Do not start the engine; have the tank emptied by somebody licensed to.",
        )
        for each in petrol
    ]
    if catalogue.invented:
        found.append(
            warning(
                "catalogue",
                f"{catalogue.name} holds invented parts, typical in size: the answer is a size to"
                " look for, not a product to buy.",
                "Give the figures of real parts with --catalogue.",
            )
        )
    if case.supply is not None and case.supply.free_water_fraction > 0.0:
        best = choice.kit(choice.best)
        if best is not None and not best.takes_water:
            found.append(
                warning(
                    "water",
                    f"the fuel comes with {1e6 * case.supply.free_water_fraction:.0f} mg/kg free"
                    " water and nothing in this answer takes it out.",
                    "Ask again with --water, or see that the tank and factory filter are drained.",
                )
            )
    for item in catalogue.filters:
        if item.element.rating is not None:
            points = curve_of(item.element.rating, item.id).points
            found += [
                warning(f"catalogue {item.id}", f"{doubt}.", "Look it up again.")
                for doubt in rating_doubts(points)
            ]
    wishes = choice.wishes
    if wishes.assumed:
        found.append(
            note(
                "wishes",
                f"{'; '.join(wishes.assumed)}: taken by assumption, without a source"
                f" ({km(wishes.at_least_m or 0.0)} km, {wishes.joint_cost:g} a joint,"
                f" {wishes.change_cost:g} a visit, {wishes.halving_worth:g} a halving).",
                "Declare your own.",
            )
        )
    found.append(
        note(
            "limits",
            "are held with the same guard as in `service`: half the width of the prediction's range"
            " where the limit is reached is kept from the maker's pressure, kit by kit."
            " The share that the clean line takes at the reference conditions is held against the"
            " maker's own limit.",
        )
    )
    found.append(
        note(
            "water separators",
            "count as one where they are rated for the largest flow of the vehicle; how much of"
            " which drops they take is not asked here.",
        )
    )
    found.append(
        note(
            "no filter stops",
            f"{'; '.join(NOT_STOPPED)}; soft matter passes or blocks early. Exposure is a ratio of"
            " particles, no life of an injector is promised.",
        )
    )
    found.append(
        note(
            "the chosen kit",
            "is a prediction. Test it on the vehicle (plan, prove) before it is released.",
        )
    )
    return (
        *found,
        *rating_findings(case, ((),)),
        *(service_findings(case, case.supply, FOR_CHOICE) if case.supply is not None else ()),
    )
