"""The words of a run sheet that are the same for every vehicle."""

BEFORE: tuple[str, ...] = (
    "Date, place, driver, second person",
    "Vehicle, odometer, gear of the pull",
    "Stored codes read out before the first run and after the last",
    "Serial of the factory element (the same one in every run) and of the kit's element",
    "Gauge: serial, place and height over the pump inlet; hose full of fuel, without bubbles",
    "Tyre pressure, strap tension, tightened again after the warm-up",
    "Air conditioning off, fan in the same place and at the same speed",
    "Regeneration of the particulate filter locked or just finished; not within a run",
    "Margins dated before the first candidate run",
)
SAME_EVERYWHERE: tuple[tuple[str, str], ...] = (
    (
        "Zero",
        "Read the sensor at rest before and after every run, with the line to it full and always"
        " the same way: a zero that moves is a reading that moves.",
    ),
    (
        "Gauge and hose",
        "The same gauge, in the same place, at the same height, on the same hose. 0.10 m of fuel"
        " is 0.8 kPa.",
    ),
    (
        "Factory element",
        "The same one in every run: another would be taken for the kit. Note its serial.",
    ),
    (
        "Tyres, straps, gear",
        "Same gear, tyre pressure and strap tension; do not move the vehicle on the roller within"
        " a session.",
    ),
    (
        "Engine and air",
        "Fan, air conditioning and electrical load alike; start each run at the same coolant and"
        " intake temperature, after the same pause.",
    ),
    (
        "Particulate filter and codes",
        "No regeneration within a run. Read stored codes before and after: a code means that the"
        " control unit has already changed something.",
    ),
    (
        "Rail pressure",
        "Log demanded and actual rail pressure: the control unit can hide a short feed until power"
        " falls.",
    ),
    (
        "Warm-up",
        "Drive one or two warm-up runs and leave them out; go on when fuel, coolant and tyres are"
        " warm.",
    ),
)
LOOP: tuple[str, ...] = (
    "Valves, hoses and elbows of the loop have at least the bore of the line, and both ways the"
    " same fittings: what the loop adds is then in A and in B alike.",
    "Turn the lever with the engine idling, let bubbles pass, and wait for a steady reading.",
    "Drive one run in true stock condition, before the loop is fitted: against A it shows what the"
    " loop itself adds, and whether it draws air.",
    "Prime through the filter; look for bubbles in a clear hose for a short time only.",
)
REPLUMB: tuple[str, ...] = (
    "Every change opens the line: prime the same way, for the same time, tighten to the same"
    " torque, and look for bubbles before each run.",
    "Give each plumbing a name of its own (setup) when the run is added: the scatter of opening the"
    " line is then counted.",
)
CATCH_SAFELY = (
    "Lead the return through a three-way valve that is turned from a distance, into a measure that"
    " stands still and is earthed, over a spill tray: never by hand beside a moving vehicle. Never"
    " open the leak-off line of the injectors."
)
EMPTY_TANK = (
    "What is caught is missing in the tank: give it back between runs, or note the level again."
)
