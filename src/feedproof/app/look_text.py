"""What ``look`` says, for a console."""

from feedproof.app.api_look import LookedAt, LookReport
from feedproof.records.logs.looking import ColumnLook


def look_text(report: LookReport) -> str:
    """
    Write a look.

    Parameters
    ----------
    report : LookReport
        The look.

    Returns
    -------
    str
        File by file.
    """
    return "\n\n".join(_file(each) for each in report.files)


def _file(look: LookedAt) -> str:
    """Write one file."""
    lines = [f"{look.file}: {'can be read' if look.usable else 'something must be stated first'}"]
    lines += [f"  {words}" for words in look.notes]
    if look.columns:
        lines += ["", f"  {look.rows} rows; what each column holds and could be:"]
        for column in look.columns:
            lines += _column(column)
    if look.findings:
        lines += ["", *(f"  {finding}" for finding in look.findings)]
    for each in look.known:
        lines += [
            "",
            f"  {each.told()}. It was not applied; to paste into case.toml, after reading it:",
            "",
            each.block,
        ]
    if look.block and not look.known:
        lines += ["", "  To paste into case.toml, after reading it:", "", look.block]
    return "\n".join(lines)


def _column(column: ColumnLook) -> list[str]:
    """Write one column."""
    unit = column.unit or ("?" if column.form == "number" else "")
    head = f"  {column.number}. {column.name}" + (f" [{unit}]" if unit else "")
    if column.middle is None:
        return [f"{head}: no numbers"]
    lines = [
        f"{head}: {column.least:.6g} to {column.greatest:.6g}, middle {column.middle:.6g}"
        + ("" if column.form == "number" else f" s ({column.form})")
        + (f", {column.rate_hz:.3g} Hz" if column.rate_hz else "")
    ]
    for each in column.candidates:
        mark = "->" if each.by_name else "or"
        units = f"; unit: ? plausible are {', '.join(each.units)}" if each.units else ""
        lines.append(f"       {mark} {each.channel}: {each.reason}{units}")
    if not column.candidates:
        lines.append("       nothing suggests a channel")
    return lines
