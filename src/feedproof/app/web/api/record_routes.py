"""What the database keeps across cases: readings, settings, mappings, and what was deleted."""

from typing import Annotated, Literal

from fastapi import APIRouter, Depends, Query, Request
from pydantic import BaseModel, ConfigDict, Field
from starlette.responses import Response

from feedproof.app import api_readings, api_records, api_settings
from feedproof.app.web.access import needs_token_of_browsers
from feedproof.app.web.api.answers import WRITING, answered, gives
from feedproof.app.web.api.strict import StrictRoute
from feedproof.app.web.screen import preferences_of
from feedproof.records.store.store import WORKSHOP

reads = APIRouter(tags=["records"])
writes = APIRouter(
    tags=["records"], route_class=StrictRoute, dependencies=[Depends(needs_token_of_browsers)]
)
Text = Annotated[str, Field(max_length=200)]
Needed = Annotated[str, Field(min_length=1, max_length=200)]
Why = Annotated[str, Field(min_length=1, max_length=2000, description="Why; it is kept.")]
Whose = Annotated[str, Query(min_length=1, max_length=200, description="Whose settings.")]
Only = Annotated[str, Query(max_length=200, description="Only of this one.")]


class _Said(BaseModel):
    """What is sent."""

    model_config = ConfigDict(extra="forbid", strict=True)
    who: Annotated[Needed, Field(description="Who does it.")]


class Withdrawn(_Said):
    """A decision with its reason."""

    why: Why


class Forgotten(Withdrawn):
    """A mapping that is forgotten."""

    which: Annotated[
        Text, Field(description="First digits of its hash, where the instrument has several.")
    ] = ""


class NewReading(_Said):
    """A reading of the gauge, or a correction of one."""

    vehicle: Annotated[Needed, Field(description="Label of the vehicle.")]
    at: Annotated[
        Needed,
        Field(description='At which stated speed and load, such as "80 km/h, full load".'),
    ]
    on: Annotated[Needed, Field(description="Day, such as 2026-03-31.")]
    depression: Annotated[Needed, Field(description="What the gauge read, such as 12 kPa.")]
    distance: Annotated[Text, Field(description="Driven so far, such as 45210 km.")] = ""
    fuel_temp: Annotated[Text, Field(description="Such as 31 degC.")] = ""
    kits: Annotated[list[Needed], Field(max_length=20, description="Kits that are fitted.")] = []
    gauge: Annotated[Text, Field(description="Instrument that was read.")] = ""
    element: Annotated[Text, Field(description="Serial number of the element.")] = ""
    instead_of: Annotated[
        Text, Field(description="Reading that this corrects: its id or its first digits.")
    ] = ""
    why: Annotated[str, Field(max_length=2000, description="Why it is corrected.")] = ""


class SettingsWanted(_Said):
    """Settings to change."""

    of: Annotated[Needed, Field(description="Whose.")] = WORKSHOP
    values: Annotated[
        dict[str, Text],
        Field(
            max_length=40,
            description="unit.KIND to a unit, decimal_comma to yes or no, dark_mode to yes, no or"
            " system.",
        ),
    ]


class SettingsUnset(_Said):
    """Settings that go back to what the program begins with."""

    of: Annotated[Needed, Field(description="Whose.")] = WORKSHOP
    names: Annotated[list[Text], Field(max_length=40, description="Such as unit.pressure.")]


class BroughtBack(_Said):
    """Something that was deleted and is brought back."""

    kind: Annotated[
        Literal["instruments", "mappings", "readings"], Field(description="What it is.")
    ]
    id: Annotated[Needed, Field(description="Its id, or how it begins.")]
    why: Annotated[str, Field(max_length=2000, description="Why.")] = ""


@reads.get("/readings", **gives("readings", "Those that stand, by day."))
def list_readings(vehicle: Only = "") -> Response:
    """List the readings that stand, by day."""
    return answered(api_readings.reading_show(vehicle))


@writes.post("/readings", **gives("readings", "Kept.", status=201, faults=WRITING))
def keep_reading(said: NewReading) -> Response:
    """Keep a reading of the gauge on a vehicle in use, or a correction of one."""
    told = api_readings.reading_add(
        said.vehicle,
        check_point=said.at,
        read_on=said.on,
        depression=said.depression,
        who=said.who,
        distance=said.distance,
        fuel_temperature=said.fuel_temp,
        kits=said.kits,
        gauge=said.gauge,
        element=said.element,
        instead_of=said.instead_of,
        why=said.why,
    )
    return answered(told, 201)


@writes.post("/readings/{reading}/withdraw", **gives("readings", "Withdrawn.", faults=WRITING))
def withdraw_reading(reading: str, said: Withdrawn) -> Response:
    """Withdraw a reading; it can be brought back for 30 days."""
    return answered(api_readings.reading_withdraw(reading, who=said.who, why=said.why))


@reads.get("/settings", **gives("settings", "As they hold."))
def read_settings(of: Whose = WORKSHOP) -> Response:
    """Give somebody's settings; who has none of his own has the workshop's."""
    return answered(api_settings.settings_show(of))


@writes.post("/settings", **gives("settings", "As they hold now.", faults=WRITING))
def change_settings(request: Request, said: SettingsWanted) -> Response:
    """Change settings, all of the named ones or none: units, decimal comma, dark mode."""
    told = api_settings.settings_set(said.values, who=said.who, of=said.of)
    # The screens hold the workshop's since they were read last.
    preferences_of(request).load()
    return answered(told)


@writes.post("/settings/unset", **gives("settings", "As they hold now.", faults=WRITING))
def unset_settings(request: Request, said: SettingsUnset) -> Response:
    """Go back to what the program begins with."""
    told = api_settings.settings_unset(said.names, who=said.who, of=said.of)
    preferences_of(request).load()
    return answered(told)


@reads.get("/mappings", **gives("mappings", "Each with who, when, from what."))
def list_mappings(instrument: Only = "") -> Response:
    """List what was learned of instruments' logs: who, when, from what."""
    return answered(api_records.mapping_show(instrument))


@writes.post("/mappings/{instrument}/forget", **gives("mappings", "What stands.", faults=WRITING))
def forget_mapping(instrument: str, said: Forgotten) -> Response:
    """Forget a mapping; it can be brought back for 30 days."""
    told = api_records.mapping_forget(instrument, who=said.who, why=said.why, which=said.which)
    return answered(told)


@writes.post("/instruments/{instrument}/remove", **gives("records", "Removed.", faults=WRITING))
def remove_instrument(instrument: str, said: Withdrawn) -> Response:
    """Remove an instrument; it can be brought back for 30 days."""
    return answered(api_records.instrument_remove(instrument, who=said.who, why=said.why))


@reads.get("/records", **gives("records", "Each with the day until which it can be."))
def list_deleted() -> Response:
    """List what was deleted and can be brought back, and until when."""
    return answered(api_records.record_show())


@writes.post("/records/undo", **gives("records", "It is back.", faults=WRITING))
def bring_back(said: BroughtBack) -> Response:
    """Bring back what was deleted within 30 days."""
    return answered(api_records.record_undo(said.kind, said.id, who=said.who, why=said.why))


@writes.post("/records/purge", **gives("records", "Gone for good.", faults=WRITING))
def purge(said: Withdrawn) -> Response:
    """Remove for good what was deleted more than 30 days ago; that it was there stays."""
    return answered(api_records.record_purge(who=said.who, why=said.why))
