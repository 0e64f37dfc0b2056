"""A catch as it is typed: a volume or a mass, told by its unit."""

from feedproof.records.quantity import read_number


def amount_key(text: str) -> str:
    """
    Tell by its unit whether a caught amount is a mass or a volume.

    Parameters
    ----------
    text : str
        As typed, such as ``1.42L`` or ``1.19kg``.

    Returns
    -------
    str
        Key of the amount in a run: ``mass``, or ``volume`` for everything else, which the
        reader then refuses with what is allowed.

    Examples
    --------
    >>> amount_key("1190 g"), amount_key("1.42 L"), amount_key("some")
    ('mass', 'volume', 'volume')
    """
    try:
        read_number(text, "mass")
    except ValueError:
        return "volume"
    return "mass"
