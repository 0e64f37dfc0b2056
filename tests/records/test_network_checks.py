"""
Branches, tees, lift pumps and return led back are checked before anything is solved.

Promised: what the solver of networks would refuse is told at its key, for the bare line, for each
kit let into it and for each set of kits that was run; a document that passes can be solved; a
chain has no such finding.  The oracle is the solver's own lowering, never these checks' code.
"""

import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedproof.case.case import Case
from feedproof.core.errors import InputError
from feedproof.feedline.circuit import build_circuit
from feedproof.records.conversion import case_of, margins_of
from feedproof.records.document import CaseDocument
from tests.records.documents import BRANCHED, VEHICLE, errors_of, reading_of, run_text

PRIMER = 'from = "mixing"\nto = "filter_in"'
FILTER = 'source = "invented" }\nfrom = "filter_in"\nto = "filter_out"'
BYPASS = 'housing_inertial = "8.0e8 1/m^4"\nfrom = "filter_in"\nto = "filter_out"'
TEE = "[[tee]]\n"
HOSE = "collapse_depression = { value"
SECOND_TEE = '[[tee]]\nnode = "filter_in"\nbore = "7 mm"\nbranch = "primer"\n\n'
LIFT = (
    '{ id = "boost", kind = "lift_pump", shut_off_pressure = "20 kPa", free_flow = "3 L/min",'
    ' stopped_inertial = "1e9 1/m^4" }'
)


def one_pipe(name: str, nodes: str = "") -> str:
    """Write a kit's part."""
    return f'{{ id = "{name}", kind = "pipe", length = "1 m", bore = "8 mm"{nodes} }}'


def kit(name: str, place: str, *parts: str) -> str:
    """Write a kit of one insertion."""
    return (
        f'\n[[kit]]\nid = "{name}"\ntitle = "kit"\n[[kit.insertion]]\n{place}\n'
        f"part = [{', '.join(parts)}]\n"
    )


def with_kits(*kits: str) -> str:
    """Add kits to the branched vehicle."""
    return BRANCHED.replace("\n[fuel.summer]", "".join(kits) + "\n[fuel.summer]", 1)


def replaced(text: str, right: str, wrong: str) -> str:
    """Plant one mistake."""
    assert right in text, right
    return text.replace(right, wrong, 1)


def circuits(case: Case) -> None:
    """Lower what a prediction asks for: the line, each kit, each set of kits that was run."""
    sets = [(), *((name,) for name in case.kits), *(run.kits for run in case.runs)]
    for kits in sets:
        line = case.line_with(kits)
        fuel = case.fuels[case.reference.fuel]
        build_circuit(case.vehicle, line, fuel, case.reference, case.friction_rule)


def test_the_branched_vehicle_has_no_finding_but_its_undeclared_margins(tmp_path: Path) -> None:
    reading = reading_of(BRANCHED, tmp_path)

    assert reading.case is not None
    assert ["void" in finding.message for finding in reading.findings] == [True]
    circuits(reading.case)


def test_a_chain_has_no_finding_of_a_network(tmp_path: Path) -> None:
    assert ["void" in f.message for f in reading_of(VEHICLE, tmp_path).findings] == [True]


MISTAKES = [
    (PRIMER, PRIMER.replace("mixing", "mixng"), "line[primer].from", "no part joins to the tank"),
    (FILTER, FILTER.replace("_out", "_uot"), "line[factory_filter].to", "a dead end"),
    (BYPASS, BYPASS.replace("_out", "_in"), "line[bypass].from", "begins and ends at the node"),
    (
        'bore = "8 mm"\nroughness = "1.5 um"\nto = "mixing"',
        'bore = "8 mm"\nroughness = "1.5 um"\nto = "mixing"\n\n[[line]]\nid = "second"\n'
        'kind = "lift_pump"\nshut_off_pressure = "9 kPa"\nfree_flow = "90 L/h"\n'
        'stopped_inertial = "1e9 1/m^4"\nto = "between"\n\n[[line]]\nid = "third"\n'
        'kind = "lift_pump"\nshut_off_pressure = "9 kPa"\nfree_flow = "90 L/h"\n'
        'stopped_inertial = "1e9 1/m^4"\nfrom = "tank"\nto = "mixing"',
        "line[second].to",
        "a dead end",
    ),
    (
        'curve_exponent = 1.5\nstopped_inertial = { value = "2.0e9 1/m^4", low = "1.0e9 1/m^4",'
        ' high = "3.0e9 1/m^4", source = "invented" }',
        'stopped_inertial = "2e9 1/m^4"\n\n[[line]]\nid = "second"\nkind = "lift_pump"\n'
        'shut_off_pressure = "9 kPa"\nfree_flow = "90 L/h"\nstopped_inertial = "1e9 1/m^4"',
        "line[second]",
        "second running lift pump",
    ),
    (
        'hole_diameter = { value = "0.05 mm"',
        'to = "filter_out"\nhole_diameter = { value = "0.05 mm"',
        "line[loose_clip].to",
        "begins and ends",
    ),
    (
        'hole_diameter = { value = "0.05 mm"',
        'to = "filter_in"\nhole_diameter = { value = "0.05 mm"',
        "line[loose_clip]",
        "nothing feeds the pump",
    ),
    ('branch = "bypass"', 'branch = "bypas"', "tee[filter_in].branch", 'Did you mean "bypass"'),
    ('branch = "bypass"', 'branch = "soft_hose"', "tee[filter_in].branch", "no leg"),
    ('node = "filter_in"', 'node = "filter_inn"', "tee[filter_inn].node", "0 parts meet"),
    ('node = "filter_in"', 'node = "mixing"', "tee[mixing].node", "2 parts meet"),
    (TEE, SECOND_TEE + TEE, "tee[filter_in].node", "a tee stands at the node"),
    ('to = "mixing"\ncold', 'to = "mixxing"\ncold', "recirculation.to", "no node"),
    ('to = "mixing"\ncold', 'to = "tank"\ncold', "recirculation.to", "an end of the line"),
    ('to = "mixing"\ncold', 'to = "inlet"\ncold', "recirculation.to", "an end of the line"),
    ('to = "mixing"\ncold', 'to = "return"\ncold', "recirculation.to", "an end of the line"),
    ('"104 degF"', '"10 degC"', "recirculation.warm_temperature", "not above cold"),
    ('"104 degF"', '"41 degF"', "recirculation.warm_temperature", "swapped?"),
    (
        '"104 degF"',
        '{ value = "104 degF", low = "10 degC" }',
        "recirculation.warm_temperature",
        "the ranges meet",
    ),
    (HOSE, "# " + HOSE, "line[soft_hose].collapse_span", "never narrows"),
    (HOSE, "# " + HOSE, "line[soft_hose].collapsed_bore", "never narrows"),
]


@pytest.mark.parametrize(("right", "wrong", "place", "told"), MISTAKES)
def test_a_mistake_of_a_network_is_an_error_at_its_key(
    right: str, wrong: str, place: str, told: str, tmp_path: Path
) -> None:
    reading = reading_of(replaced(BRANCHED, right, wrong), tmp_path)
    about = [f for f in errors_of(reading) if f.place.endswith(f": {place}")]

    assert reading.case is None
    assert [f for f in about if told in f"{f.message} {f.remedy}"], errors_of(reading)
    assert all(finding.remedy for finding in errors_of(reading))


def test_the_line_told_is_the_line_of_the_node_s_name(tmp_path: Path) -> None:
    text = replaced(BRANCHED, FILTER, FILTER.replace("_out", "_uot"))
    told = next(f for f in errors_of(reading_of(text, tmp_path)) if "filter].to" in f.place)
    number = int(told.place.split("line ")[1].split(":")[0])

    assert text.split("\n")[number - 1] == 'to = "filter_uot"'


KITS = [
    (
        kit("loop", 'after = "factory_filter"', one_pipe("stub", ', to = "nowhere"')),
        "kit[loop].insertion[0].part[stub].to",
        "a dead end",
    ),
    (
        kit("boosted", 'after = "lift"', LIFT),
        "kit[boosted].insertion[0].part[boost]",
        "second running lift pump",
    ),
    (kit("boosted", 'before = "lift"', LIFT), "kit[boosted]", 'part "lift" is a second running'),
    (
        kit(
            "third_way",
            'after = "bypass"',
            one_pipe("third", ', from = "filter_in", to = "filter_out"'),
        ),
        "kit[third_way]",
        'the tee at "filter_in": 4 parts meet',
    ),
    (
        kit("off_tee", 'before = "bypass"', one_pipe("tail", ', to = "aside"')),
        "kit[off_tee]",
        'holds a part "bypass"',
    ),
    (
        kit("round", 'after = "factory_filter"', one_pipe("ring", ', from = "x", to = "x"')),
        "kit[round].insertion[0].part[ring].from",
        "begins and ends",
    ),
]


def test_a_kit_may_stand_between_a_tee_and_the_part_that_names_its_side_leg(
    tmp_path: Path,
) -> None:
    added = kit("at_tee", 'before = "bypass"', one_pipe("tail"))
    assert errors_of(reading_of(with_kits(added), tmp_path)) == []


@pytest.mark.parametrize(("added", "place", "told"), KITS)
def test_a_kit_that_breaks_the_line_is_named_and_the_bare_line_is_not_blamed(
    added: str, place: str, told: str, tmp_path: Path
) -> None:
    errors = errors_of(reading_of(with_kits(added), tmp_path))
    name = added.split('id = "')[1].split('"')[0]

    assert [f for f in errors if f.place.endswith(f": {place}") and told in f.message], errors
    assert all(f'kit "{name}", let into the line, breaks it' in f.message for f in errors), errors


def test_a_mistake_of_the_bare_line_is_told_once_and_not_for_every_kit(tmp_path: Path) -> None:
    text = replaced(BRANCHED, FILTER, FILTER.replace("_out", "_uot"))
    dead = [f for f in errors_of(reading_of(text, tmp_path)) if "a dead end" in f.message]

    assert len(dead) == 1


def test_a_kit_s_mistake_is_told_beside_the_same_mistake_of_the_line(tmp_path: Path) -> None:
    right = 'shut_off_pressure = { value = "25 kPa"'
    second = LIFT.strip("{} ").replace(", ", "\n").replace("boost", "second")
    text = replaced(
        with_kits(kit("boosted", 'after = "second"', LIFT)),
        '[[line]]\nid = "steel_line"',
        f'[[line]]\n{second}\n\n[[line]]\nid = "steel_line"',
    )
    assert right in text
    told = [str(f) for f in errors_of(reading_of(text, tmp_path)) if "second running" in f.message]

    assert [("line[second]" in line, "part[boost]" in line) for line in told] == [
        (True, False),
        (False, True),
    ]


def test_two_kits_with_the_same_mistake_are_both_told(tmp_path: Path) -> None:
    one = kit("one", 'before = "lift"', LIFT)
    two = kit("two", 'before = "lift"', LIFT.replace("boost", "other"))
    errors = errors_of(reading_of(with_kits(one, two), tmp_path))

    assert [f.place.rpartition(": ")[2] for f in errors] == ["kit[one]", "kit[two]"]


def test_a_second_lift_pump_that_stands_is_no_mistake(tmp_path: Path) -> None:
    stopped = LIFT.replace("}", ", running = false }")
    text = with_kits(kit("spare", 'after = "lift"', stopped))

    assert errors_of(reading_of(text, tmp_path)) == []


def test_kits_that_break_the_line_only_together_are_told_at_the_run(tmp_path: Path) -> None:
    one = kit("one", 'after = "soft_hose"', LIFT)
    two = kit("two", 'after = "loose_clip"', LIFT.replace("boost", "other"))
    text = with_kits(one, two)
    alone = reading_of(text + run_text(1, kits='["one"]'), tmp_path)
    together = errors_of(reading_of(text + run_text(1, kits='["one", "two"]'), tmp_path))

    assert errors_of(alone) == []
    assert len(together) == 1
    assert "run[1].kits" in together[0].place
    assert 'kits "one", "two" together' in together[0].message


def test_a_kit_beside_a_part_of_another_kit_is_checked_with_it(tmp_path: Path) -> None:
    first = kit("first", 'after = "factory_filter"', one_pipe("first_hose"))
    other = kit("behind", 'after = "first_hose"', one_pipe("stub", ', to = "nowhere"'))
    errors = errors_of(reading_of(with_kits(first, other), tmp_path))

    assert [f.message for f in errors if "nowhere" in f.message and '"behind"' in f.message]
    assert not [f for f in errors if '"first"' in f.message]


def test_mistakes_of_a_network_and_of_figures_are_told_together(tmp_path: Path) -> None:
    text = BRANCHED
    planted = [
        ('free_flow = "180 L/h"', 'free_flow = "-180 L/h"', "line[lift].free_flow"),
        (
            'hole_diameter = { value = "0.05 mm", low',
            "hole_diameter = { value = nan, low",
            "line[loose_clip].hole_diameter",
        ),
        (FILTER, FILTER.replace("_out", "_uot"), "line[factory_filter].to"),
        ('branch = "bypass"', 'branch = "bypas"', "tee[filter_in].branch"),
        ('to = "mixing"\ncold', 'to = "mixxing"\ncold', "recirculation.to"),
        ("warm_fraction = 0.1", "warm_fraction = 10", "recirculation.warm_fraction"),
        ('"104 degF"', '"41 degF"', "recirculation.warm_temperature"),
        (HOSE, "# " + HOSE, "line[soft_hose].collapse_span"),
        ('effectiveness = "0.3"', 'effectivness = "0.3"', "return[cooler].effectivness"),
    ]
    for right, wrong, _ in planted:
        text = replaced(text, right, wrong)
    text = replaced(text, "\n[fuel.summer]", KITS[0][0] + "\n[fuel.summer]")
    told = [finding.place for finding in errors_of(reading_of(text, tmp_path))]
    places = [place for _, _, place in planted] + ["kit[loop].insertion[0].part[stub].to"]

    for place in places:
        assert [each for each in told if f": {place}" in each], place
    # The other key of a hose without a start has no effect either; nothing else is told.
    places += ["line[soft_hose].collapsed_bore"]
    assert [each for each in told if not any(f": {place}" in each for place in places)] == []


@pytest.mark.parametrize(
    ("right", "wrong", "place", "told"),
    [
        (
            '[[return]]\nid = "cooler"',
            '[[return]]\nid = "hole"\nkind = "air_hole"\nhole_diameter = "1 mm"\n\n'
            '[[return]]\nid = "cooler"',
            "return[hole].kind",
            "the return stands above ambient",
        ),
        (
            '[[return]]\nid = "cooler"',
            f'[[return]]\n{LIFT.strip("{} ").replace(", ", chr(10))}\n\n[[return]]\nid = "cooler"',
            "return[boost].kind",
            "pushes fuel back",
        ),
        (
            'title = "return pipe to the tank"',
            'collapse_depression = "9 kPa"\ncollapse_span = "9 kPa"\ncollapsed_bore = "50 %"',
            "return[return_pipe].collapse_depression",
            "does not narrow here",
        ),
        (
            "collapse_span =",
            "# collapse_span =",
            "line[soft_hose].collapse_depression",
            "collapse_span = 10 kPa is taken",
        ),
        ('"86 degF"', '"70 degC"', "reference.tank_fuel_temperature", "above the return"),
        ('"86 degF"', '"-20 degC"', "reference.tank_fuel_temperature", "CFPP"),
        (
            'to = "mixing"\ncold',
            'to = "filter_in"\ncold',
            "tee[filter_in].node",
            "a fourth leg",
        ),
    ],
)
def test_what_makes_no_sense_there_is_a_warning(
    right: str, wrong: str, place: str, told: str, tmp_path: Path
) -> None:
    reading = reading_of(replaced(BRANCHED, right, wrong), tmp_path)
    about = [str(f) for f in reading.findings if f.place.endswith(f": {place}")]

    assert errors_of(reading) == []
    assert [line for line in about if line.startswith("warning") and told in line], about


def test_an_air_hole_of_the_feed_line_is_no_warning(tmp_path: Path) -> None:
    assert not [f for f in reading_of(BRANCHED, tmp_path).findings if "air hole" in f.message]


NODES = st.sampled_from(["", "", "tank", "inlet", "return", "a", "b", "c"])
# The solver gives no temperature to such a part, so it is no judge of what else is wrong.
MISFILED = "only the return line joins it"
TOLD_HERE_ONLY = (
    # The solver has no pump that must be fed, and a chain no tees.
    "nothing feeds the pump",
    "parts meet at the node",
    # It takes a node of the return line, too.
    "the feed line has no node",
)


def keys(start: str, end: str, form: str) -> str:
    """Write the nodes of a part."""
    return "".join(form.format(key, name) for key, name in (("from", start), ("to", end)) if name)


PIPE = 'kind = "pipe"\nlength = "1 m"\nbore = "8 mm"\n'
PUMP = LIFT.partition(", ")[2].strip("{} ").replace(", ", "\n") + "\n"
PARTS = st.sampled_from([PIPE, PIPE, PIPE, PUMP, PUMP + "running = false\n"])


def line_of(table: str, joins: list[tuple[str, str, str]]) -> str:
    """Write a line of pipes and lift pumps."""
    return "".join(
        f'\n[[{table}]]\nid = "{table}{i}"\n{part}' + keys(start, end, '{} = "{}"\n')
        for i, (start, end, part) in enumerate(joins)
    )


@st.composite
def networks(draw: st.DrawFn) -> str:
    """Draw any line, return, recirculation, tee and kit of a document."""
    some = st.lists(st.tuples(NODES, NODES, PARTS), min_size=1, max_size=5)
    joins = draw(some)
    back = draw(st.one_of(st.just([]), some))
    target, node = draw(NODES), draw(NODES)
    extra = BRANCHED[BRANCHED.index("[recirculation]") : BRANCHED.index("[[kit]]")]
    extra = extra.replace('to = "mixing"', f'to = "{target}"') if target else ""
    if node:
        branch = draw(st.integers(0, len(joins) - 1))
        extra += f'\n[[tee]]\nnode = "{node}"\nbore = "7 mm"\nbranch = "line{branch}"\n'
    side = draw(st.sampled_from(["before", "after"]))
    place = f'{side} = "line{draw(st.integers(0, len(joins) - 1))}"'
    added = kit("k", place, one_pipe("in_kit", keys(draw(NODES), draw(NODES), ', {} = "{}"')))
    return f"{line_of('line', joins)}{line_of('return', back)}{extra}{added}\n"


HEAD = BRANCHED[: BRANCHED.index("# Lines with everything")]
TAIL = BRANCHED[BRANCHED.index("[fuel.summer]") :].replace("loading =", "# loading =")


def test_a_part_of_the_return_that_stands_in_the_feed_line_is_told(tmp_path: Path) -> None:
    feed = line_of("line", [("", "inlet", PIPE), ("return", "a", PIPE)])
    back = line_of("return", [("", "tank", PIPE), ("", "a", PIPE)])
    errors = errors_of(reading_of(f"{HEAD}{feed}{back}{TAIL}", tmp_path))

    assert [f.place.rpartition(": ")[2] for f in errors] == ["line[line1]"]
    assert "only the return line joins it" in errors[0].message


@settings(max_examples=60, deadline=None)
@given(lines=networks())
def test_a_random_network_is_refused_exactly_where_the_solver_refuses_it(
    lines: str, tmp_path_factory: pytest.TempPathFactory
) -> None:
    text = f"{HEAD}{lines}{TAIL}"
    reading = reading_of(text, tmp_path_factory.mktemp("random"))
    if reading.case is not None:
        circuits(reading.case)
        return
    errors = errors_of(reading)
    assert errors
    if any(MISFILED in f.message for f in errors):
        return
    if any(not any(words in f.message for words in TOLD_HERE_ONLY) for f in errors):
        model = CaseDocument.model_validate(tomllib.loads(text))
        with pytest.raises(InputError):
            circuits(case_of(model, margins_of(model.margins), {}))
