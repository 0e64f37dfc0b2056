"""Whether an add-on fuel filter starves a common-rail diesel, and whether it is worth fitting."""

__version__ = "0.1.0"
