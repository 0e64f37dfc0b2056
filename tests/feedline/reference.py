"""
The reference vehicle (an invented scenario) as domain objects, from its own data file.

Its expected curves were computed by an independent script from the same numbers, with another
program; they prove that the equations are solved, not that a real vehicle behaves so.
"""

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

from feedproof.case.case import Pull
from feedproof.case.conditions import Conditions
from feedproof.case.fuel import Fuel
from feedproof.case.line import Insertion, Kit, Line
from feedproof.case.parts import CheckValve, Element, Fitting, Part, Pipe
from feedproof.case.vehicle import ChargeCooling, Engine, Gearing, Pump, Tank, Topology, Vehicle
from feedproof.feedline.circuit import FeedCircuit, build_circuit
from feedproof.feedline.pull import engine_speeds
from feedproof.feedline.pump_state import FeedState

DATA: dict[str, Any] = tomllib.loads(
    (Path(__file__).parents[1] / "data" / "reference_vehicle.toml").read_text(encoding="utf-8")
)
L_PER_H = 1e-3 / 3600.0
KPA = 1e3


def part_of(entry: dict[str, Any], name: str) -> Part:
    """Make a part from an entry of the data file."""
    match entry["type"]:
        case "pipe":
            return Pipe(id=name, length_m=entry["L"], bore_m=entry["d"])
        case "fitting":
            return Fitting(
                id=name,
                count=entry["n"],
                bore_m=entry["d"],
                laminar_coefficient=entry["K1"],
                turbulent_coefficient=entry["Kinf"],
            )
        case "filter":
            growth = {"loading_scale_kg": entry["mk_g"] * 1e-3} if "mk_g" in entry else {}
            return Element(
                id=name,
                role="element",
                media_resistance_per_m=entry["Rm"],
                face_area_m2=entry["A"],
                housing_inertial_per_m4=entry["bh"],
                **growth,
            )
        case "check":
            return CheckValve(
                id=name, cracking_pressure_pa=entry["crack_pa"], inertial_per_m4=entry["b"]
            )
    raise ValueError(entry["type"])


def fuel_of(name: str) -> Fuel:
    """Make a fuel from the data file."""
    entry = DATA["fuel"][name]
    return Fuel(
        name=name,
        density_15c_kg_per_m3=entry["rho15"],
        expansion_per_k=entry["beta_per_K"],
        viscosity_cool_m2_per_s=entry["nu20_mm2s"] * 1e-6,
        viscosity_warm_m2_per_s=entry["nu40_mm2s"] * 1e-6,
        temperature_cool_k=293.15,
        temperature_warm_k=313.15,
        cloud_point_k=entry["cloud_point_c"] + 273.15,
        cfpp_k=entry["cfpp_c"] + 273.15,
        ostwald_air=entry["ostwald_air"],
        vapour_pressure_20c_abs_pa=entry["pv20_pa"],
        vapour_pressure_slope_k=entry.get("pv_slope_K", DATA["fuel_model"]["pv_slope_K"]),
    )


def pump_of(name: str) -> Pump:
    """Make a pump from the data file; the third one is as new where it says nothing."""
    new = DATA["pump"]["new"]
    entry = {**new, **DATA["pump"][name]}
    lubrication = entry.get("lube_orifice_L_per_h_at_regulated", entry["lube_min_L_per_h_rated"])
    return Pump(
        topology=Topology(entry["topology"]),
        displacement_m3_per_rev=entry["displacement_m3_per_rev"],
        speed_ratio=entry["speed_ratio_to_engine"],
        filling_fraction=entry["eta_v0"],
        slip_m3_per_s=entry["slip40_L_per_h"] * L_PER_H,
        slip_viscosity_pa_s=2.42e-3,
        feed_pressure_regulated_pa=entry["regulated_feed_pa"],
        inlet_half_pressure_abs_pa=entry["inlet_half_pressure_pa"],
        inlet_softness_pa=entry["inlet_softness_pa"],
        port_loss_pa=entry["port_loss_pa_at_28rps"],
        port_loss_speed_rev_per_s=28.0,
        gas_release_fraction=entry["gas_release_fraction"],
        backleak_rated_m3_per_s=entry["injector_backleak_L_per_h_rated"] * L_PER_H,
        lubrication_m3_per_s=lubrication * L_PER_H,
        maker_limit_abs_pa=entry["maker_limit_abs_pa"],
        maker_limit_source="invented",
    )


def vehicle(pump: str = "new", *, bore_m: float | None = None) -> Vehicle:
    """Make the reference vehicle, with another pump or with all pipes of another bore."""
    parts = [part_of(entry, entry["id"]) for entry in DATA["circuit"]]
    if bore_m is not None:
        parts = [replace(part, bore_m=bore_m) if isinstance(part, Pipe) else part for part in parts]
    engine, body = DATA["engine"], DATA["vehicle"]
    return Vehicle(
        name=DATA["meta"]["name"],
        engine=Engine(
            displacement_m3=engine["displacement_L"] * 1e-3,
            charge=ChargeCooling.TURBO_AIR,
            boost_ratio=engine["boost_ratio_rated"],
            speed_rev_per_s=tuple(speed / 60.0 for speed in engine["speed_rpm"]),
            torque_nm=tuple(float(each) for each in engine["torque_Nm"]),
            specific_consumption_kg_per_j=tuple(b / 3.6e9 for b in engine["bsfc_g_per_kWh"]),
            rated_speed_rev_per_s=3400.0 / 60.0,
        ),
        gearing=Gearing(
            gear_ratio=body["top_gear_ratio"],
            final_drive_ratio=body["final_drive"],
            rolling_radius_m=body["tyre_dynamic_radius_m"],
            driveline_loss_fraction=body["driveline_loss_fraction"],
        ),
        # Level 0.5 stands for the reference lift of 0.40 m; full and empty are set around it.
        tank=Tank(
            capacity_m3=0.080,
            inlet_above_full_m=0.0,
            inlet_above_empty_m=0.80,
            distance_to_pump_m=2.5,
        ),
        pump=pump_of(pump),
        line=Line(parts=tuple(parts)),
        return_line=Line(parts=()),
    )


def kit(name: str) -> Kit:
    """Make a kit: K1 before the factory filter, fine ones after it, K3 one on each side."""
    entry = next(each for each in DATA["kit"] if each["id"] == name)
    if "use" in entry:
        before, after = (_parts(each, f"{each}_{side}") for each, side in _sides(entry["use"]))
        places = (("before", before), ("after", after))
    else:
        places = (("before" if name == "K1" else "after", _parts(name, name)),)
    return Kit(
        id=name,
        title=entry["title"],
        insertions=tuple(
            Insertion(place="oe_filter", side=side, parts=parts) for side, parts in places
        ),
    )


def _sides(names: list[str]) -> list[tuple[str, str]]:
    """Name the two sides of a double kit."""
    return list(zip(names, ("before", "after"), strict=True))


def _parts(name: str, prefix: str) -> tuple[Part, ...]:
    """Make a kit's parts with ids of their own."""
    entry = next(each for each in DATA["kit"] if each["id"] == name)
    return tuple(
        part_of(element, f"{prefix}_{index}") for index, element in enumerate(entry["element"])
    )


def conditions(
    temperature_c: float = 40.0,
    *,
    fuel: str = "summer",
    ambient_pa: float = 101325.0,
    mass_g: dict[str, float] | None = None,
    **others: float,
) -> Conditions:
    """Make conditions; loading by part id in grams."""
    return Conditions(
        fuel=fuel,
        fuel_temperature_k=temperature_c + 273.15,
        ambient_pressure_abs_pa=ambient_pa,
        captured_mass_kg={key: mass * 1e-3 for key, mass in (mass_g or {}).items()},
        **others,
    )


def circuit(
    *kits: str,
    pump: str = "new",
    rule: str = "blend_blasius",
    bore_m: float | None = None,
    at: Conditions | None = None,
) -> FeedCircuit:
    """Make a circuit of the reference vehicle with kits."""
    body = vehicle(pump, bore_m=bore_m)
    where = at or conditions()
    line = body.line.with_kits([kit(name) for name in kits])
    return build_circuit(body, line, fuel_of(where.fuel), where, rule)


def at_138(feed: FeedCircuit, speed_kmh: float = 138.0) -> FeedState:
    """Solve full load at a road speed."""
    speed = engine_speeds(feed, [speed_kmh / 3.6])
    _, injected = feed.full_load(speed)
    return feed.at(float(speed[0]), float(injected[0]))


PULL = Pull(start_m_per_s=70 / 3.6, stop_m_per_s=140 / 3.6, rate_m_per_s2=5 / 3.6)
