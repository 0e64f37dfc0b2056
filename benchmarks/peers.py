"""
Ask general-purpose pipe network programs for a looped circuit, and keep what they answer.

    python benchmarks/peers.py [FOLDER]

Needs wntr (which carries EPANET) and pandapipes, in an environment of their own; it does not load
this project.  It writes one file for each peer, with its inputs, versions and the hash of this
script, into FOLDER (tests/published/peers where none is named).

The circuit is invented: 12 nodes, 17 pipes, six loops.  Flow is laminar, where every program uses
64/Re, and some pipes carry a minor loss K rho v^2/2, on which they agree too.
"""

import hashlib
import importlib.metadata
import json
import math
import platform
import sys
import tempfile
from pathlib import Path
from typing import Any

SCRIPT = Path(__file__).resolve()
PEERS = SCRIPT.parents[1] / "tests" / "published" / "peers"

CHAIN = [(node, node + 1) for node in range(11)]
CHORDS = [(0, 4), (2, 7), (3, 11), (9, 1), (5, 10), (8, 6)]
NODES = [f"n{node}" for node in range(12)]
"""The first one is the tank: its pressure is given."""

# So smooth that the rough-wall term which pandapipes adds to 64/Re is 5e-5 of it at the most.
SMOOTH_M = 1e-303


def circuit(bore_m: float, flow_m3_per_s: float) -> dict[str, Any]:
    """Make the circuit at one size: pipes with length, bore and minor loss, and draws."""
    pipes = [
        {
            "id": f"p{number}",
            "first": NODES[first],
            "second": NODES[second],
            "length_m": round(0.4 + 0.35 * ((7 * number) % 11), 3),
            "bore_m": round(bore_m * (1.0 + 0.05 * (number % 3)), 6),
            "minor_loss": [0.0, 2.5, 0.9][number % 3],
        }
        for number, (first, second) in enumerate(CHAIN + CHORDS)
    ]
    draws = {
        node: round(flow_m3_per_s * (0.5 + 0.1 * (index % 4)), 12)
        for index, node in enumerate(NODES)
        if index % 2
    }
    return {"pipes": pipes, "draw_m3_per_s": draws}


CASES: list[dict[str, Any]] = [
    {
        "case": "water-like",
        "density_kg_per_m3": 998.2,
        "kinematic_viscosity_m2_per_s": 1.004e-6,
        **circuit(0.030, 1.0e-5),
    },
    {
        "case": "diesel-like",
        "density_kg_per_m3": 826.0,
        "kinematic_viscosity_m2_per_s": 2.95e-6,
        **circuit(0.012, 1.0e-5),
    },
    {
        "case": "diesel-like, cold",
        "density_kg_per_m3": 853.0,
        "kinematic_viscosity_m2_per_s": 9.2e-6,
        **circuit(0.008, 1.2e-5),
    },
]


def ask_epanet(case: dict[str, Any]) -> dict[str, dict[str, float]]:
    """Solve a case with EPANET; heads become pressures with its own gravity."""
    import wntr

    model = wntr.network.WaterNetworkModel()
    model.options.hydraulic.headloss = "D-W"
    # Below 1e-3 EPANET takes the number itself, not a ratio to water's: in m2/s beside litres.
    model.options.hydraulic.inpfile_units = "LPS"
    model.options.hydraulic.viscosity = case["kinematic_viscosity_m2_per_s"]
    model.options.hydraulic.accuracy = 1e-8
    model.options.hydraulic.trials = 500
    model.options.time.duration = 0
    # A head near zero keeps digits in EPANET's single-precision answer; pressure is of no concern.
    model.add_reservoir(NODES[0], base_head=0.0)
    for node in NODES[1:]:
        model.add_junction(node, base_demand=case["draw_m3_per_s"].get(node, 0.0), elevation=-100.0)
    for pipe in case["pipes"]:
        model.add_pipe(
            pipe["id"],
            pipe["first"],
            pipe["second"],
            length=pipe["length_m"],
            diameter=pipe["bore_m"],
            roughness=1e-7,  # must not be 0; without effect in laminar flow
            minor_loss=pipe["minor_loss"],
        )
    with tempfile.TemporaryDirectory() as folder:
        results = wntr.sim.EpanetSimulator(model).run_sim(file_prefix=str(Path(folder) / "peer"))
    # EPANET works in feet with 32.2 ft/s2.
    weight = case["density_kg_per_m3"] * 32.2 * 0.3048
    heads = results.node["head"].iloc[0]
    flows = results.link["flowrate"].iloc[0]
    return {
        "pressure_difference_pa": {node: float(heads[node]) * weight for node in NODES[1:]},
        "flow_m3_per_s": {pipe["id"]: float(flows[pipe["id"]]) for pipe in case["pipes"]},
    }


def ask_pandapipes(case: dict[str, Any]) -> dict[str, dict[str, float]]:
    """Solve a case with pandapipes."""
    import pandapipes

    density = case["density_kg_per_m3"]
    fuel = pandapipes.create_constant_fluid(
        "fuel",
        "liquid",
        density=density,
        viscosity=density * case["kinematic_viscosity_m2_per_s"],
        heat_capacity=2000.0,
        molar_mass=200.0,
        der_compressibility=0.0,
        compressibility=1.0,
    )
    net = pandapipes.create_empty_network(fluid=fuel)
    number = {
        node: pandapipes.create_junction(net, pn_bar=2.0, tfluid_k=293.15, name=node)
        for node in NODES
    }
    pandapipes.create_ext_grid(net, number[NODES[0]], p_bar=2.0, t_k=293.15)
    for node, flow in case["draw_m3_per_s"].items():
        pandapipes.create_sink(net, number[node], mdot_kg_per_s=flow * density)
    for pipe in case["pipes"]:
        pandapipes.create_pipe_from_parameters(
            net,
            number[pipe["first"]],
            number[pipe["second"]],
            length_km=pipe["length_m"] / 1e3,
            inner_diameter_mm=pipe["bore_m"] * 1e3,
            k_mm=SMOOTH_M * 1e3,
            loss_coefficient=pipe["minor_loss"],
        )
    pandapipes.pipeflow(
        net,
        friction_model="nikuradse",
        max_iter_hyd=200,
        tol_p=1e-13,
        tol_m=1e-13,
        tol_res=1e-12,
        use_numba=False,
    )
    pressures = net.res_junction.p_bar
    mass = net.res_pipe.mdot_from_kg_per_s
    return {
        "pressure_difference_pa": {
            node: float((pressures[number[node]] - pressures[number[NODES[0]]]) * 1e5)
            for node in NODES[1:]
        },
        "flow_m3_per_s": {
            pipe["id"]: float(mass[index]) / density for index, pipe in enumerate(case["pipes"])
        },
    }


def greatest_reynolds(case: dict[str, Any], answer: dict[str, dict[str, float]]) -> float:
    """Give the greatest Reynolds number of an answer."""
    return max(
        4.0
        * abs(answer["flow_m3_per_s"][pipe["id"]])
        / (math.pi * pipe["bore_m"] * case["kinematic_viscosity_m2_per_s"])
        for pipe in case["pipes"]
    )


def main() -> None:
    """Ask every peer and write what it answered."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else PEERS
    folder.mkdir(parents=True, exist_ok=True)
    digest = hashlib.sha256(SCRIPT.read_bytes()).hexdigest()
    peers = {
        "epanet": (ask_epanet, ["wntr"], "EPANET 2.2 by way of wntr, Darcy-Weisbach"),
        "pandapipes": (ask_pandapipes, ["pandapipes"], "pandapipes, friction model nikuradse"),
    }
    for name, (ask, packages, title) in peers.items():
        cases = []
        for case in CASES:
            answer = ask(case)
            reynolds = greatest_reynolds(case, answer)
            print(f"{name}: {case['case']}: greatest Reynolds number {reynolds:.0f}")
            cases.append({**case, "greatest_reynolds": round(reynolds, 1), "answer": answer})
        document = {
            "peer": title,
            "versions": {
                **{package: importlib.metadata.version(package) for package in packages},
                "python": platform.python_version(),
            },
            "script": "benchmarks/peers.py",
            "script_sha256": digest,
            "note": "Invented circuit; laminar flow, where all friction rules are 64/Re.",
            "tank": NODES[0],
            "cases": cases,
        }
        text = json.dumps(document, indent=1) + "\n"
        (folder / f"network_{name}.json").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
