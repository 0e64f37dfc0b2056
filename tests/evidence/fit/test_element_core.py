"""The least squares core of the added element's fit, against published fits and other solvers."""

import math
import warnings
from fractions import Fraction

import numpy as np
import pytest
from scipy.optimize import least_squares

from feedproof.evidence.fit.element_core import CoreFit, NotSettledError, fit_curve
from feedproof.evidence.fit.element_plan import Design, ElementCurve
from feedproof.evidence.fit.element_points import Curve, Group
from feedproof.evidence.fit.element_shares import shares
from feedproof.evidence.fit.element_solve import RankError
from tests.evidence.fit.element_curves import (
    DANWOOD_X,
    DANWOOD_Y,
    MISRA_X,
    MISRA_Y,
    ODRPACK_U_X,
    ODRPACK_X,
    ODRPACK_Y,
    PEARSON_X,
    PEARSON_Y,
    YORK_WEIGHT_X,
    YORK_WEIGHT_Y,
    Plain,
    group,
    line,
    misra,
    odrpack_example,
    power,
)

LINE: Curve = Plain(line)


def york_group() -> Group:
    u_x = [1.0 / math.sqrt(w) for w in YORK_WEIGHT_X]
    u_y = [1.0 / math.sqrt(w) for w in YORK_WEIGHT_Y]
    return group(PEARSON_X, PEARSON_Y, u_x, u_y)


def scatter_of(fit: CoreFit) -> float:
    return math.sqrt(fit.chi_square / fit.degrees_of_freedom)


def deviations(fit: CoreFit) -> list[float]:
    """Give standard deviations as by a fit that takes its scatter from the residuals."""
    size = len(fit.parameters)
    return [scatter_of(fit) * math.sqrt(fit.covariance[i][i]) for i in range(size)]


def test_pearsons_data_with_yorks_weights() -> None:
    # York 1966 and 1969: -0.4805, 5.4799.  Seen: printed example of a public package for York's
    # method, 5.47991 and -0.48053, chi-square 11.866 at 8 degrees of freedom.
    fit = fit_curve([york_group()], LINE, [0.0, 0.0])

    assert fit.parameters == pytest.approx((5.47991, -0.48053), abs=5e-6)
    assert fit.chi_square == pytest.approx(11.866, abs=5e-4)
    assert fit.degrees_of_freedom == 8
    # York 1969 and Lybanon 1984 print 0.295 and 0.058 (memory).
    assert [math.sqrt(fit.covariance[i][i]) for i in (0, 1)] == pytest.approx([0.295, 0.058], 2e-3)


def test_a_line_with_errors_in_both_agrees_with_orthogonal_distance_regression() -> None:
    odr = odr_module()
    data = york_group()
    out = odr.ODR(
        odr.RealData(data.x, data.y, sx=data.u_x, sy=data.u_y),
        odr.Model(lambda b, x: b[0] + b[1] * x),
        beta0=[5.0, -0.5],
        sstol=1e-15,
        partol=1e-15,
        maxit=1000,
    ).run()

    fit = fit_curve([data], LINE, [0.0, 0.0])

    assert fit.parameters == pytest.approx(tuple(out.beta), rel=1e-7)
    # Its covariance is before the residual scatter is multiplied in.
    assert np.array(fit.covariance) == pytest.approx(out.cov_beta, rel=1e-5)


def test_a_parabola_with_errors_in_both_agrees_with_orthogonal_distance_regression() -> None:
    odr = odr_module()
    rng = np.random.default_rng(7)
    true = np.linspace(0.4, 1.6, 30)
    x = true + 0.08 * rng.standard_normal(30)
    y = 3.0 + 5.0 * true + 4.0 * true**2 + 0.2 * rng.standard_normal(30)
    out = odr.ODR(
        odr.RealData(x, y, sx=0.08, sy=0.2),
        odr.Model(lambda b, q: b[0] + b[1] * q + b[2] * q * q),
        beta0=[3.0, 5.0, 4.0],
        sstol=1e-15,
        partol=1e-15,
        maxit=1000,
    ).run()
    curve = ElementCurve(
        design=Design(constants=1, line=(1, 2), added=()),
        candidate=(False,),
        viscosity_ratio=(1.0,),
        density_ratio=(1.0,),
    )

    fit = fit_curve([group(x, y, 0.08, 0.2)], curve, [0.0] * 3)

    assert fit.parameters == pytest.approx(tuple(out.beta), rel=1e-6)
    assert np.array(fit.covariance) == pytest.approx(out.cov_beta, rel=1e-4)


def odr_module():  # type: ignore[no-untyped-def]
    """
    Give SciPy's wrapper of ODRPACK, a general-purpose reference.

    It leaves SciPy with release 1.19; the same code goes on as the package odrpack.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        from scipy import odr

        class Quiet(odr.ODR):  # type: ignore[misc]
            def __init__(self, *args: object, **kwargs: object) -> None:
                with warnings.catch_warnings():
                    warnings.simplefilter("ignore", DeprecationWarning)
                    super().__init__(*args, **kwargs)

    class Module:
        ODR = Quiet
        RealData = staticmethod(quietly(odr.RealData))
        Model = staticmethod(quietly(odr.Model))

    return Module


def quietly(make):  # type: ignore[no-untyped-def]
    def made(*args: object, **kwargs: object) -> object:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", DeprecationWarning)
            return make(*args, **kwargs)

    return made


def test_the_explicit_example_of_the_odrpack_guide() -> None:
    # Seen in SciPy's own test of ODRPACK, to six decimals there; some abscissae are exact.
    beta = [1.2646548050648876e03, -5.4018409956678255e01, -8.7849712165253724e-02]
    sd = [1.0349270280543437, 1.583997785262061, 0.0063321988657267]
    cov = [4.4949592379003039e-01, -3.7421976890364739e-01, -8.0978217468468912e-04]

    fit = fit_curve(
        [group(ODRPACK_X, ODRPACK_Y, ODRPACK_U_X)], Plain(odrpack_example), [1500.0, -50.0, -0.1]
    )

    # The guide stopped at a relative change of about 1e-8 in the sum of squares; the same code
    # run on, to 1e-15, gives -54.0183868 and -0.0878498518 (computed with SciPy 1.17.1).
    assert fit.parameters == pytest.approx(tuple(beta), rel=2e-6)
    assert fit.parameters[1:] == pytest.approx((-54.0183868, -0.0878498518), rel=1e-9)
    assert deviations(fit) == pytest.approx(sd, rel=1e-4)
    assert fit.covariance[0] == pytest.approx(cov, rel=1e-4)


@pytest.mark.parametrize("start", [(500.0, 1e-4), (250.0, 5e-4)])
def test_nist_misra1a(start: tuple[float, float]) -> None:
    # NIST StRD certified values, nonlinear regression, seen.
    fit = fit_curve([group(MISRA_X, MISRA_Y)], Plain(misra), start)

    assert fit.parameters == pytest.approx((238.94212918, 5.5015643181e-4), rel=1e-9)
    assert scatter_of(fit) == pytest.approx(0.10187876330, rel=1e-9)
    assert deviations(fit) == pytest.approx([2.7070075241, 7.2668688436e-6], rel=1e-8)


@pytest.mark.parametrize("start", [(1.0, 5.0), (0.7, 4.0)])
def test_nist_danwood(start: tuple[float, float]) -> None:
    # NIST StRD certified values, nonlinear regression, seen.
    fit = fit_curve([group(DANWOOD_X, DANWOOD_Y)], Plain(power), start)

    assert fit.parameters == pytest.approx((0.76886226176, 3.8604055871), rel=1e-9)
    assert scatter_of(fit) == pytest.approx(0.032853114039, rel=1e-9)
    assert deviations(fit) == pytest.approx([0.018281973860, 0.051726610913], rel=1e-8)


def test_nist_norris() -> None:
    # NIST StRD certified values, linear regression; the data as the statistics rows have them.
    fit = fit_curve([group(*NORRIS)], LINE, [0.0, 0.0])

    assert fit.parameters == pytest.approx((-0.262323073774029, 1.00211681802045), rel=1e-9)
    assert scatter_of(fit) == pytest.approx(0.884796396144373, rel=1e-10)
    assert deviations(fit) == pytest.approx([0.232818234301152, 4.29796848199937e-4], rel=1e-9)


NORRIS_X = [0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4]
NORRIS_X += [0.6, 775.5, 666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3]
NORRIS_X += [0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5]
NORRIS_Y = [0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3]
NORRIS_Y += [0.1, 778.1, 668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3]
NORRIS_Y += [0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2]
NORRIS = (NORRIS_X, NORRIS_Y)


def three_runs() -> tuple[list[Group], ElementCurve]:
    """Make runs with every kind of shared error, one with a free offset."""
    rng = np.random.default_rng(11)
    groups = []
    for i, fitted in enumerate((0.0, 1.0, 1.0)):
        q = np.linspace(0.4, 1.5, 7 + i)
        y = 3.0 + (5.0 + 2.0 * fitted) * q + (4.0 + fitted) * q**2
        groups.append(
            Group(
                x=q * (1.0 + 0.04 * rng.standard_normal()) + 0.03 * rng.standard_normal(len(q)),
                y=y + 0.3 * rng.standard_normal() + 0.1 * rng.standard_normal(len(q)),
                u_x=np.full(len(q), 0.03),
                u_y=np.full(len(q), 0.1),
                u_offset=(0.3, 0.3, math.inf)[i],
                u_scale=0.04,
                u_factor=0.02,
            )
        )
    curve = ElementCurve(
        design=Design(constants=1, line=(1, 2), added=(1, 2)),
        candidate=(False, True, True),
        viscosity_ratio=(1.0, 1.1, 0.9),
        density_ratio=(1.0, 1.01, 0.99),
    )
    return groups, curve


def residuals_in_full(unknowns: np.ndarray, groups: list[Group], curve: ElementCurve) -> np.ndarray:
    """Write the model out with every unknown, nothing eliminated."""
    c, a0, b0, a, b = unknowns[:5]
    rest = list(unknowns[5:])
    out: list[np.ndarray] = []
    for i, g in enumerate(groups):
        offset, scale, factor = rest[:3]
        q = np.array(rest[3 : 3 + len(g.x)])
        del rest[: 3 + len(g.x)]
        m, d, f = (
            curve.viscosity_ratio[i] * (1 + factor),
            curve.density_ratio[i],
            curve.candidate[i],
        )
        y = c + offset + m * (a0 + f * a) * q + d * (b0 + f * b) * q * q
        shared = [scale / g.u_scale, factor / g.u_factor]
        shared += [offset / g.u_offset] if math.isfinite(g.u_offset) else []
        out += [(g.y - y) / g.u_y, (g.x - q * (1 + scale)) / g.u_x, np.array(shared)]
    return np.concatenate(out)


def test_elimination_gives_what_a_general_solver_finds_with_every_unknown_written_out() -> None:
    groups, curve = three_runs()
    start = [3.0, 5.0, 4.0, 2.0, 1.0]
    for g in groups:
        start += [0.0, 0.0, 0.0, *g.x]
    full = least_squares(
        residuals_in_full, start, args=(groups, curve), xtol=1e-15, ftol=1e-15, gtol=1e-13
    )
    covariance = np.linalg.inv(full.jac.T @ full.jac)[:5, :5]

    fit = fit_curve(groups, curve, [0.0] * 5)

    assert fit.parameters == pytest.approx(tuple(full.x[:5]), rel=1e-6)
    assert fit.chi_square == pytest.approx(2.0 * full.cost, rel=1e-10)
    assert np.array(fit.covariance) == pytest.approx(covariance, rel=1e-4)


def test_shares_add_up_to_the_covariance() -> None:
    groups, curve = three_runs()
    fit = fit_curve(groups, curve, [0.0] * 5)

    found = shares(groups, curve, fit, 3, 4)

    summed = [math.fsum(share.covariance[i] for share in found) for i in range(3)]
    expected = [fit.covariance[3][3], fit.covariance[3][4], fit.covariance[4][4]]
    assert summed == pytest.approx(expected, rel=1e-9)
    # A free offset is no error of known size: it has no share.
    assert not any(share.kind == "offset" and share.run == 2 for share in found)


def test_without_errors_of_flow_a_shared_offset_is_generalised_least_squares() -> None:
    # Aitken's closed form with the whole covariance matrix, written out.
    rng = np.random.default_rng(3)
    x = [np.linspace(0.0, 1.0, 5), np.linspace(0.5, 2.0, 6)]
    y = [1.0 + 2.0 * q + rng.standard_normal() for q in x]
    groups = [group(q, p, 0.0, 0.2, u_offset=0.7) for q, p in zip(x, y, strict=True)]
    design = np.concatenate([np.stack([np.ones_like(q), q], 1) for q in x])
    v = np.zeros((11, 11))
    v[:5, :5] = v[5:, 5:][:5, :5] = 0.49
    v[5:, 5:] = 0.49
    v += 0.04 * np.eye(11)
    normal = design.T @ np.linalg.solve(v, design)
    expected = np.linalg.solve(normal, design.T @ np.linalg.solve(v, np.concatenate(y)))

    fit = fit_curve(groups, LINE, [0.0, 0.0])

    assert fit.parameters == pytest.approx(tuple(expected), rel=1e-10)
    assert np.array(fit.covariance) == pytest.approx(np.linalg.inv(normal), rel=1e-10)


def test_twelve_digits_are_right_where_fractions_give_them_all() -> None:
    # Five parameters, no errors of flow: normal equations solved by elimination in fractions.
    rng = np.random.default_rng(13)
    groups = [
        group(np.linspace(0.4, 1.3, 9), 5.0 + rng.standard_normal(9), 0.0, 0.2) for _ in range(2)
    ]
    curve = ElementCurve(
        design=Design(constants=1, line=(1, 2), added=(1, 2)),
        candidate=(False, True),
        viscosity_ratio=(1.0, 1.0),
        density_ratio=(1.0, 1.0),
    )
    rows = [
        [Fraction(1), q, q * q, f * q, f * q * q]
        for f, g in enumerate(groups)
        for q in map(Fraction, g.x.tolist())
    ]
    values = [Fraction(y) for g in groups for y in g.y.tolist()]
    normal = [[sum(row[i] * row[j] for row in rows) for j in range(5)] for i in range(5)]
    right = [sum(row[i] * y for row, y in zip(rows, values, strict=True)) for i in range(5)]

    fit = fit_curve(groups, curve, [0.0] * 5)

    assert fit.parameters == pytest.approx(eliminated(normal, right), rel=1e-12)


def eliminated(matrix: list[list[Fraction]], right: list[Fraction]) -> tuple[float, ...]:
    """Solve in fractions: no rounding at all."""
    size = len(right)
    rows = [[*matrix[i], right[i]] for i in range(size)]
    for i in range(size):
        for k in range(size):
            if k != i:
                share = rows[k][i] / rows[i][i]
                rows[k] = [a - share * b for a, b in zip(rows[k], rows[i], strict=True)]
    return tuple(float(row[-1] / row[i]) for i, row in enumerate(rows))


def test_the_order_of_points_and_runs_changes_no_digit() -> None:
    groups, curve = three_runs()
    turned = [
        Group(
            x=g.x[::-1],
            y=g.y[::-1],
            u_x=g.u_x,
            u_y=g.u_y,
            u_offset=g.u_offset,
            u_scale=g.u_scale,
            u_factor=g.u_factor,
        )
        for g in reversed(groups)
    ]
    back = ElementCurve(
        design=curve.design,
        candidate=curve.candidate[::-1],
        viscosity_ratio=curve.viscosity_ratio[::-1],
        density_ratio=curve.density_ratio[::-1],
    )

    one, two = fit_curve(groups, curve, [0.0] * 5), fit_curve(turned, back, [0.0] * 5)

    assert one.parameters == two.parameters
    assert one.covariance == two.covariance
    assert one.chi_square == two.chi_square


def test_points_at_one_place_cannot_give_a_slope() -> None:
    with pytest.raises(RankError) as caught:
        fit_curve([group([1.0, 1.0, 1.0], [2.0, 2.1, 1.9])], LINE, [0.0, 0.0])

    assert caught.value.unknown == 1


def test_a_curve_that_is_never_finite_does_not_settle() -> None:
    def broken(parameters, x):  # type: ignore[no-untyped-def]
        at = line(parameters, x)
        bad = np.where(parameters[0] == 0.0, at.value, np.nan)
        return type(at)(bad, at.slope, at.columns, at.by_factor)

    with pytest.raises(NotSettledError):
        fit_curve([group([1.0, 2.0, 3.0], [2.0, 2.1, 2.5])], Plain(broken), [0.0, 0.0])
