"""What the command line prints with --json and what the HTTP interface answers are one document."""

import pytest

from feedproof.app.cli import VERBS
from feedproof.app.web.api.verb_routes import ADDRESSES

FRUGAL = {"sensitivity": {"samples": 8}, "service": {"samples": 200}}
ASKED = [
    ("check", "check", None, ()),
    ("predict", "predict", {}, ()),
    (
        "predict",
        "predict",
        {"kits": ["secondary"], "fuel_temp": "-5 degC", "level": "25%", "altitude": "1500m"},
        ("--kit", "secondary", "--fuel-temp", "-5 degC", "--level", "25%", "--altitude", "1500m"),
    ),
    ("envelope", "envelope", {"kits": ["secondary"]}, ("--kit", "secondary")),
    ("faults", "faults", {"kits": ["secondary"]}, ("--kit", "secondary")),
    ("cold-start", "cold-start", {"soak": "-12 degC"}, ("--soak", "-12 degC")),
    ("plan", "plan", {"chance": 80.0, "runs_each": 4}, ("--chance", "80", "--runs-each", "4")),
    ("prove", "prove", {}, ()),
    ("protect", "protect", {"bad_fuel": "24/22/19"}, ("--bad-fuel", "24/22/19")),
    ("service", "service", {"samples": 200}, ("--samples", "200")),
    ("sensitivity", "sensitivity", {"samples": 8, "seed": 3}, ("--samples", "8", "--seed", "3")),
    ("choose", "choose", {"most_cost": 500.5, "water": True}, ("--most-cost=500.5", "--water")),
    ("store verify", "verify", {}, ()),
    ("publish", "publish", {}, ()),
]


def timeless(document):
    return {key: value for key, value in document.items() if key != "computed"}


@pytest.mark.parametrize(("verb", "path", "body", "options"), ASKED)
def test_a_verb_answers_with_the_document_of_the_command_line(
    program, command_line, demo_folder, verb, path, body, options
):
    address = f"/cases/demo/{path}"
    told = program.get(address) if body is None else program.post(address, body)
    code, printed = command_line(*verb.split(), demo_folder, *options)
    assert code == 0
    assert timeless(told) == timeless(printed)


def test_a_fit_answers_with_the_document_of_the_command_line(program, command_line, demo_folder):
    told = program.post("/cases/demo/fit", {"fuel_temp": "10 degC"})
    _, printed = command_line("fit", demo_folder, "--fuel-temp", "10 degC")
    assert timeless(told) == timeless(printed)


@pytest.mark.parametrize(
    ("verb", "body", "options", "status"),
    [
        ("predict", {"fuel_temp": "10", "fuel": "x"}, ("--fuel-temp", "10", "--fuel", "x"), 422),
        ("predict", {"kits": ["none such"]}, ("--kit", "none such"), 422),
        ("protect", {"bad_fuel": "dirty"}, ("--bad-fuel", "dirty"), 422),
        ("plan", {"chance": 3.0}, ("--chance", "3"), 422),
    ],
)
def test_a_refusal_is_the_document_of_the_command_line(
    program, command_line, demo_folder, verb, body, options, status
):
    told = program.post(f"/cases/demo/{verb}", body, status)
    code, printed = command_line(verb, demo_folder, *options)
    assert told == printed
    assert told["exit_code"] == code


def test_every_verb_has_an_operation_or_a_reason():
    """A verb that is added later must not be forgotten here."""
    elsewhere = {
        "demo": "POST /cases with begin: demo",
        "new": "POST /cases",
        "check": "GET /cases/{case}/check",
        "declare": "POST /cases/{case}/declare",
        "exclude": "POST /cases/{case}/runs/{number}/exclude",
        "correct": "POST /cases/{case}/runs/{number}/correct",
        "archive add": "POST /cases/{case}/archive",
        "archive show": "GET /archive",
        "archive withdraw": "POST /archive/withdraw",
        "serve": "is the server",
        "store export": "GET /cases/{case}/bundle",
        "store import": "POST /bundles",
        "store remove": "DELETE /cases/{case}",
        "store undo": "POST /cases/{case}/undo-removal",
        "store reindex": "POST /index",
        "store backup": "the machine's owner's alone",
        "store restore": "the machine's owner's alone",
        "instrument add": "PUT /instruments/{instrument}",
        "instrument show": "GET /instruments",
        "schema": "GET /schemas/{document}",
    }
    made = {each.verb.replace("store_", "store ").replace("_", "-") for each in ADDRESSES}
    assert made | set(elsewhere) == set(VERBS)
