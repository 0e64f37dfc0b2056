"""The archive of repeatability in words for a console."""

from feedproof.app.archive_result import ArchiveReport, Opening
from feedproof.evidence.archives.pooling import Member, Pool

_ANSWERS = {
    "worse": "the rig is getting worse",
    "better": "the rig is getting better",
    "cannot_tell": "whether the rig is getting worse, these sessions cannot tell",
}
UNLIKE = 0.05


def archive_text(report: ArchiveReport) -> str:
    """
    Write what an archive holds.

    Parameters
    ----------
    report : ArchiveReport
        From ``archive show``.

    Returns
    -------
    str
        Text.
    """
    lines = [str(finding) for finding in report.findings]
    lines.append(f"{report.file}: {_counted(report.sessions, 'session')} stand")
    head = None
    for pool in report.pools:
        if head != (pool.rig, pool.procedure):
            head = (pool.rig, pool.procedure)
            lines += ["", f"{pool.rig}: {pool.procedure}"]
        lines += [f"  {line}" for line in pool_lines(pool)]
        lines += [
            f"    {_opening_line(each)}"
            for each in report.openings
            if pool.replumbed
            and (each.rig, each.procedure, each.measure) == (pool.rig, pool.procedure, pool.measure)
        ]
    if report.withdrawn:
        lines += ["", "Not counted:"]
    for gone in report.withdrawn:
        what = f"replaced by line {gone.replaced_by}" if gone.replaced_by else "withdrawn"
        lines.append(
            f"  line {gone.line}, {gone.case} / {gone.session}: {what} on"
            f" {gone.recorded:%Y-%m-%d} by {gone.who}: {gone.why}"
        )
    return "\n".join(lines)


def pool_lines(pool: Pool) -> list[str]:
    """
    Write one pooled figure.

    Parameters
    ----------
    pool : Pool
        The figure.

    Returns
    -------
    list of str
        The figure first, then what stands behind it.
    """
    kind = "line opened before every run" if pool.replumbed else "one plumbing"
    size, low, high = (_sized(pool, s) for s in (pool.standard_deviation, pool.low, pool.high))
    lines = [
        f"{pool.measure.value.replace('_', ' ')}, {kind}: s0 = {size},"
        f" {_counted(round(pool.degrees_of_freedom), 'degree')} of freedom (95 %: {low} to {high})",
        f"  {_counted(len(pool.members), 'session')}, {pool.first:%Y-%m-%d} to"
        f" {pool.last:%Y-%m-%d}",
    ]
    lines += [
        f"  line {each.line}, {each.case} / {each.session}{_invented(each)}:"
        f" {_counted(each.runs, 'run')},"
        f" s = {_sized(pool, each.standard_deviation)} ({each.degrees_of_freedom}){_odd(each)}"
        for each in pool.members
    ]
    if pool.bartlett is not None and pool.bartlett < UNLIKE:
        lines.append(
            f"  the sessions do not scatter alike (Bartlett, probability {pool.bartlett:.2g}): one"
            " figure does not describe this rig; all of them are in it"
        )
    lines.append(f"  {_trend_line(pool)}")
    lines.append(
        "  one more baseline session of three runs would give"
        f" {_counted(round(pool.next_degrees_of_freedom), 'degree')} of freedom and, scattering"
        f" alike, {_sized(pool, pool.next_low)} to {_sized(pool, pool.next_high)}"
    )
    return lines


def _trend_line(pool: Pool) -> str:
    """Say what the sessions tell of the rig over time."""
    trend = pool.trend
    if trend.earlier is None or trend.later is None or trend.visible_ratio is None:
        return f"{_ANSWERS['cannot_tell']}: there is one session"
    text = (
        f"{_ANSWERS[trend.answer]}: {_sized(pool, trend.earlier)} ({trend.earlier_dof:g}) in the"
        f" earlier sessions, {_sized(pool, trend.later)} ({trend.later_dof:g}) in the later ones"
    )
    if trend.answer == "cannot_tell":
        text += f"; only a rise to {trend.visible_ratio:.2g} times would likely show"
    return text


def _invented(member: Member) -> str:
    """Mark a session whose case says that its data are invented."""
    return " (INVENTED)" if member.invented else ""


def _odd(member: Member) -> str:
    """Name a session that stands out."""
    if not member.stands_out:
        return ""
    return f": {member.stands_out}, scatters more than the rest (probability {member.chance:.2g})"


def _opening_line(opening: Opening) -> str:
    """Say what opening the line adds."""
    found = opening.scatter
    upper = _in_unit(opening.unit, found.upper)
    if found.standard_deviation == 0.0:
        return f"opening the line adds nothing that can be told from 0 (at most {upper})"
    size = _in_unit(opening.unit, found.standard_deviation)
    doubt = "" if found.chance < UNLIKE else ", which cannot be told from 0"
    return f"opening the line adds {size} (at most {upper}){doubt}"


def _sized(pool: Pool, value: float) -> str:
    """Write a scatter in its unit."""
    return _in_unit(pool.unit, value)


def _in_unit(unit: str, value: float) -> str:
    """Write a scatter in the workshop's unit; log-percent are percent to a part in a hundred."""
    return f"{value / 1e3:.3g} kPa" if unit == "Pa" else f"{value:.3g} %"


def _counted(count: int, what: str) -> str:
    """Write a number of things."""
    return f"{count} {what}{'' if count == 1 else 's'}"
