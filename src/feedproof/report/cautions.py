"""The cautions that every report carries, whatever its verdict."""

CAUTIONS: tuple[tuple[str, str], ...] = (
    (
        "Advice, not permission",
        "This report advises; it authorises nothing. Local law and codes, the vehicle maker's"
        " instructions, and the judgement of licensed technicians come first. Warranty, type"
        " approval, tank and bulkhead rules, emissions equipment and insurance may forbid what a"
        " calculation allows: check them before fitting.",
    ),
    (
        "High-pressure side: out of scope",
        "This report covers the low-pressure side only. Behind the pump the rail holds 30 to 250"
        " MPa, and from about 0.7 MPa a jet breaks the skin. Never feel for a leak. Stop the"
        " engine and wait until the pressure has fallen (common practice: one to five minutes)"
        " before you go near it. A pinhole wound is a surgical emergency even when it does not"
        " hurt: go to hospital at once and say that fuel was injected.",
    ),
    (
        "Fire",
        "Return fuel may be hotter than its flash point (diesel: 55\u00a0°C or more), and diesel"
        " with petrol in it flashes at room temperature. Catch it away from turbocharger, exhaust"
        " and electrics, over a spill tray, with the vessel earthed and an extinguisher at hand."
        " Never drain fuel over an alternator. Nothing electrical in the vapour.",
    ),
    (
        "Rollers, exhaust and noise",
        "Check straps, guards and the load and speed rating of the tyres; keep people out of the"
        " line of the rollers; extract exhaust gas and watch for carbon monoxide; wear hearing"
        " protection; keep the fan on. Full load for a minute can overheat brakes, tyres and"
        " gearbox.",
    ),
    (
        "Under the vehicle",
        "Stand it on stands, never on a jack alone. Exhaust and return line are hot. Lead the"
        " pressure line to a gauge outside the cabin; clear hose is for short tests only.",
    ),
    (
        "The pump",
        "Never pinch the suction hose of a customer's vehicle to try a limit: the pump wears by"
        " cavitation. A low depression is no sign of health by itself, for a worn pump pulls less.",
    ),
    (
        "Cleanliness and air",
        "Never fill an element through its clean side: prime through the filter with the hand"
        " primer. Flush hoses behind the last filter. Every joint on the suction side can draw"
        " air; look for bubbles and try a start after a night's standing.",
    ),
    (
        "Waste",
        "Fuel, elements and rags go to licensed disposal. Keep fuel off the skin.",
    ),
)
"""Heading and words of each caution, the same on page and paper."""
