"""What the command line prints with --json and what the HTTP interface answers are one document."""

import importlib
import inspect

import pytest

from feedproof.app import api
from feedproof.app.cli import VERBS, command_path
from feedproof.app.web.api.verb_routes import ADDRESSES
from feedproof.core.errors import MissingError

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
    ("sensitivity", "sensitivity", {"samples": 16, "seed": 3}, ("--samples", "16", "--seed", "3")),
    ("store verify", "verify", {}, ()),
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


SLOW = [
    ("fit", {"fuel_temp": "10 degC", "keep": True}, ("--fuel-temp", "10 degC", "--keep")),
    ("fit", {"loading": ["factory_filter=4g"]}, ("--loading", "factory_filter=4g")),
    ("fit", {}, ()),
    ("choose", {"most_cost": 500.5, "water": True}, ("--most-cost=500.5", "--water")),
    (
        "choose",
        {"leave_out": ["a", "b"], "space": "3L", "currency": "EUR"},
        ("--leave-out", "a", "--leave-out", "b", "--space", "3L", "--currency", "EUR"),
    ),
    ("publish", {"force": True}, ("--force",)),
    ("publish", {}, ()),
]


@pytest.mark.parametrize(("verb", "body", "options"), SLOW)
def test_a_slow_verb_is_called_as_the_command_line_calls_it(
    program, command_line, demo_folder, monkeypatch, verb, body, options
):
    """Computed once elsewhere; here it matters that both doors ask for the same."""
    module = importlib.import_module(command_path(verb).split(":")[0]).api
    signature = inspect.signature(getattr(api, verb))
    calls = []

    def recorded(*given, progress=None, **named):
        assert progress is not None
        bound = signature.bind(*given, **named)
        bound.apply_defaults()
        calls.append({key: value for key, value in bound.arguments.items() if key != "progress"})
        raise MissingError.at(verb, "was asked.")

    recorded.__signature__ = signature
    monkeypatch.setattr(api, verb, recorded)
    monkeypatch.setattr(module, verb, recorded)
    told = program.post(f"/cases/demo/{verb}", body, 404)
    code, printed = command_line(verb, demo_folder, *options)
    assert (told, code) == (printed, 3)
    assert _plain(calls[0]) == _plain(calls[1])


def _plain(call):
    """Leave out what was left out: one door may say it and the other not."""
    asked = call.pop("asked", {})
    return {key: value for key, value in {**call, **asked}.items() if value not in (None, ())}


@pytest.mark.parametrize(
    ("verb", "body", "options", "status"),
    [
        ("predict", {"fuel_temp": "10", "fuel": "x"}, ("--fuel-temp", "10", "--fuel", "x"), 422),
        ("predict", {"kits": ["none such"]}, ("--kit", "none such"), 404),
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


def test_every_verb_has_an_operation_or_a_reason(lasting):
    """A verb that is added later must not be forgotten here, nor an address that went away."""
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
        "archive take-in": "POST /archive/take-in",
        "archive give-out": "GET /archive/file",
        "serve": "is the server",
        "store export": "GET /cases/{case}/bundle",
        "store import": "POST /bundles",
        "store remove": "DELETE /cases/{case}",
        "store undo": "POST /cases/{case}/undo-removal",
        "store reindex": "POST /index",
        "store cases": "GET /index",
        "store backup": "the machine's owner's alone",
        "store restore": "the machine's owner's alone",
        "instrument add": "PUT /instruments/{instrument}",
        "instrument show": "GET /instruments",
        "instrument remove": "POST /instruments/{instrument}/remove",
        "mapping show": "GET /mappings",
        "mapping forget": "POST /mappings/{instrument}/forget",
        "reading add": "POST /readings",
        "reading show": "GET /readings",
        "reading withdraw": "POST /readings/{reading}/withdraw",
        "settings show": "GET /settings",
        "settings set": "POST /settings",
        "settings unset": "POST /settings/unset",
        "record show": "GET /records",
        "record undo": "POST /records/undo",
        "record purge": "POST /records/purge",
        "schema": "GET /schemas/{document}",
    }
    made = {each.verb.replace("store_", "store ").replace("_", "-") for each in ADDRESSES}
    assert made | set(elsewhere) == set(VERBS)
    for words in elsewhere.values():
        method, _, address = words.partition(" ")
        if method.isupper():
            path = f"/api{address.partition(' ')[0]}"
            assert method.lower() in lasting.document["paths"][path], words
