"""What is told of sites, against published analyses of the BCG vaccine trials.

A trial's log risk ratio stands for a site's ln of the film ratio: what a vaccine spares, film does
here. Colditz et al., JAMA 271 (1994) 698; values [P] and [M] as in test_meta_analysis, in which the
sources stand. A saving is 1 - exp(-effect); half a unit of a value's last digit is its tolerance.
"""

import json
from typing import Any

import numpy as np
import pytest
from scipy import stats

from bcg_trials import LATITUDE, log_risk_ratios
from woold.sites.analysis import SitesQuestions, analyse_sites
from woold.sites.document import sites_document
from woold.sites.effect import saving_of
from woold.sites.site_table import Site, table_of_sites


def told(effects: Any, errors: Any, covariate: Any = None, **asked: Any) -> dict[str, Any]:
    """The document of sites with these effects."""
    sites = [
        Site(
            name=f"trial {index + 1}",
            saving=saving_of(effect),
            effect=float(effect),
            standard_error=float(error),
            loads=100,
            carriage="",
            machine="",
            film="",
            covariates={} if covariate is None else {"load_height": float(covariate[index])},
        )
        for index, (effect, error) in enumerate(zip(effects, errors, strict=True))
    ]
    found = analyse_sites(table_of_sites(sites), SitesQuestions(**asked))
    document: dict[str, Any] = json.loads(json.dumps(sites_document(found).to_json()))
    return document


@pytest.fixture(scope="module")
def trials() -> tuple[np.ndarray, np.ndarray]:
    """Effects and errors of the thirteen trials."""
    ratios, errors = log_risk_ratios()
    return -ratios, errors


@pytest.fixture(scope="module")
def bcg(trials: tuple[np.ndarray, np.ndarray]) -> dict[str, Any]:
    return told(*trials, LATITUDE, convention="hartung-knapp-t(k-1)")


def test_average_and_spread(bcg: dict[str, Any]) -> None:
    """[P] mean .7145, error .1808, interval .3206 to 1.1084; tau² .3132 of .1197 to 1.1115."""
    average, spread = bcg["average"], bcg["between_sites"]
    assert average["effect"] == pytest.approx(0.7145, abs=5e-5)
    assert average["effect_standard_error"] == pytest.approx(0.1808, abs=5e-5)
    # By hand: 1 - e^-.7145, 1 - e^-.3206, 1 - e^-1.1084.
    assert average["saving"] == pytest.approx(0.51056, abs=4e-5)
    assert average["saving_low"] == pytest.approx(0.27428, abs=5e-5)
    assert average["saving_high"] == pytest.approx(0.66991, abs=3e-5)
    assert average["confidence"] == 0.95
    # √.3132, √.1197, √1.1115.
    assert spread["tau"] == pytest.approx(0.55964, abs=6e-5)
    assert spread["tau_low"] == pytest.approx(0.34598, abs=9e-5)
    assert spread["tau_high"] == pytest.approx(1.05428, abs=4e-5)
    assert spread["q"] == pytest.approx(152.23, abs=5e-3)
    assert spread["i2"] == pytest.approx(0.9222, abs=5e-5)
    # [P] "p < .0001"
    assert spread["q_p_value"] < 1e-4


def test_next_site_and_small_trials(bcg: dict[str, Any]) -> None:
    """[P] the next ratio .14 to 1.76; [M] as errors go to zero -.5104: a saving of 39.97 %."""
    assert bcg["next_site"]["saving_low"] == pytest.approx(1 - 1.76, abs=5e-3)
    assert bcg["next_site"]["saving_high"] == pytest.approx(1 - 0.14, abs=5e-3)
    small = bcg["small_trials"]
    assert small["limit_saving"] == pytest.approx(0.39974, abs=4e-5)
    assert small["limit_saving_low"] < 0.39974 < small["limit_saving_high"]


def test_what_a_covariate_explains(bcg: dict[str, Any]) -> None:
    """[M] latitude .0291 a degree with .2515 of the other sign at 0; tau² .0764 left, R² 75.62 %.

    At 13 degrees -.2515 + 13 × .0291 = .1268, at 55 degrees 1.3490: savings of 11.9 and 74.0 %.
    """
    (found,) = bcg["explanations"]
    assert found["tau_left"] == pytest.approx(0.27641, abs=2e-4)
    assert found["explained"] == pytest.approx(0.7562, abs=1e-4)
    (slope,) = found["slopes"]
    assert slope["effect_per_si_unit"] == pytest.approx(0.0291, abs=5e-5)
    assert slope["effect_per_si_unit_low"] < 0.0291 < slope["effect_per_si_unit_high"]
    # One covariate alone has nothing to be adjusted for.
    assert slope["adjusted_p_value"] == slope["p_value"] < 0.01
    assert slope["at_si"] == [13.0, 55.0]
    # The slope's last digit is worth .0007 and .0028 there.
    assert slope["saving_at"] == pytest.approx([0.1191, 0.7405], abs=8e-4)


def test_weights(bcg: dict[str, Any]) -> None:
    """[M] Shares in per cent as the forest plot of Viechtbauer, J. Statist. Software 36(3) (2010)
    prints them."""
    printed = [5.06, 6.36, 4.44, 9.70, 8.87, 10.10, 6.03, 10.19, 8.74, 8.37, 9.93, 3.82, 8.40]
    found = [100 * each["weight"] for each in bcg["sites"]]
    assert found == pytest.approx(printed, abs=6e-3)


def test_without_each_site(trials: tuple[np.ndarray, np.ndarray]) -> None:
    """statsmodels combine_effects without each trial, by moments, with Hartung-Knapp errors.

    Deleted residual: y - mean of the others over √(v + tau² + error²) of theirs (textbook), with
    the error that takes the spread as known.
    """
    from statsmodels.stats.meta_analysis import combine_effects

    effects, errors = trials
    document = told(effects, errors, estimator="DL")
    for index, site in enumerate(document["sites"]):
        others = np.arange(13) != index
        left = combine_effects(effects[others], errors[others] ** 2, method_re="chi2")
        # Never narrower than where the spread is taken as known.
        mean, error = left.mean_effect_re, max(left.sd_eff_w_re_hksj, left.sd_eff_w_re)
        reach = stats.t.ppf(0.975, 11) * error
        assert site["saving"] == pytest.approx(1 - np.exp(-effects[index]))
        assert site["effect"] == pytest.approx(effects[index])
        assert site["effect_standard_error"] == pytest.approx(errors[index])
        assert site["average_saving_without"] == pytest.approx(1 - np.exp(-mean), rel=1e-8)
        ends = (site["average_saving_without_low"], site["average_saving_without_high"])
        expected = (1 - np.exp(-mean + reach), 1 - np.exp(-mean - reach))
        assert ends == pytest.approx(expected, rel=1e-6)
        apart = np.sqrt(errors[index] ** 2 + left.tau2 + left.sd_eff_w_re**2)
        residual = (effects[index] - mean) / apart
        assert site["deleted_residual"] == pytest.approx(residual, rel=1e-6)


def test_largest_by_chance() -> None:
    """Five equal sites, errors .01: the largest stands 1.16296 errors above (Harter 1961).

    By hand: -ln .95 + .0116296 = .0629229, a saving of 6.0984 %.
    """
    effect = -np.log(0.95)
    document = told([effect] * 5, [0.01] * 5, claim="up to 6 %")
    (part,) = document["checked_claim"]["parts"]
    assert part["largest_seen"] == pytest.approx(0.05, abs=1e-9)
    assert part["largest_if_equal"] == pytest.approx(0.060984, abs=2e-6)
    # 90 % of the largest of five: each stands below with the fifth root of .05 and of .95, .12384
    # and 2.31868 errors up in a table of the normal distribution: .0525317 and .0744801.
    assert part["largest_if_equal_low"] == pytest.approx(0.051176, abs=2e-6)
    assert part["largest_if_equal_high"] == pytest.approx(0.071774, abs=2e-6)
