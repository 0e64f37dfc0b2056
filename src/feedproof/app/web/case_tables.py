"""Tables of a case document, as the screens name them."""

TABLES = {
    "": "Title and note",
    "vehicle": "Vehicle",
    "vehicle.engine": "Engine",
    "vehicle.engine.full_load": "Full-load curve",
    "vehicle.gearing": "Gearing",
    "vehicle.tank": "Tank",
    "vehicle.pump": "Pump and its limit",
    "pull": "Pull",
    "reference": "Reference conditions",
    "margins": "Margins",
    "supply": "Fuel as it comes",
    "duty": "Duty",
    "service": "Service",
    "rig": "Rig and procedure",
}
"""Tables that every case can have; those with names of their own are added from the document."""
