"""A survey of the envelope as a page of its own."""

from dataclasses import replace

from feedproof.app.envelope_maps import maps_of
from feedproof.app.predicting import predict_case
from feedproof.app.publishing import build_publication
from feedproof.app.surveying import Survey
from feedproof.case.case import Case
from feedproof.report.page import envelope_html


def envelope_page(case: Case, survey: Survey, kits: tuple[str, ...] | None) -> str:
    """
    Draw a survey as a page.

    Parameters
    ----------
    case : Case
        The case.
    survey : Survey
        Of its kits.
    kits : tuple of str or None
        Those that were asked about; all when None.

    Returns
    -------
    str
        HTML, whole in itself.
    """
    publication = build_publication(case, predict_case(case, kits=kits), None, ())
    return envelope_html(replace(publication, envelopes=maps_of(case, survey)))
