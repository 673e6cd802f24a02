"""The table of sites, the claim, the line view; bad input."""

import re
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from woold.errors import InputError
from woold.pictures.forest import forest_figure
from woold.rows.blocks import block_texts
from woold.rows.wording import Wording
from woold.sites.analysis import SitesQuestions, analyse_sites
from woold.sites.best_by_chance import chance_that_largest_reaches, largest_by_chance
from woold.sites.claim_check import check_claim, claim_strength, strongest_claims
from woold.sites.claim_parts import interval_texts
from woold.sites.claim_reader import read_claim
from woold.sites.claim_words import HonestClaim, honest_claim
from woold.sites.covariates import explain_one_by_one, explain_together
from woold.sites.effect import effect_of, saving_of
from woold.sites.next_site import plausible_sites, prediction_interval, share_of
from woold.sites.pooling import pool
from woold.sites.random_effects import fit_random_effects
from woold.sites.read_sites import read_sites
from woold.sites.rows import sites_blocks

HEADER = "site,saving,standard_error,force_to_load,load_height,wrapper\n"
ROWS = (
    "North,4.2 %,1.2 %,45 N,1.5 m,turntable\n"
    "South,0.061,0.02,10 lbf,60 in,arm\n"
    "East,3.5 %,1.5 %,40 N,1.4 m,turntable\n"
    "West,8.1 %,2.5 %,55 N,1.8 m,arm\n"
)


def write(tmp_path: Path, text: str, name: str = "sites.csv") -> Path:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


def test_a_table_is_read_with_units_and_two_valued_words(tmp_path: Path) -> None:
    table = read_sites(write(tmp_path, HEADER + ROWS))
    assert [site.name for site in table.sites] == ["North", "South", "East", "West"]
    assert table.sites[0].saving == pytest.approx(0.042)
    assert table.sites[0].effect == pytest.approx(-np.log(1 - 0.042))
    assert table.sites[0].standard_error == pytest.approx(0.012 / 0.958)
    assert table.sites[1].covariates["force_to_load"] == pytest.approx(44.482, abs=1e-3)
    assert table.covariates == (
        "force_to_load",
        "load_height",
        "wrapper (turntable against arm)",
    )


def test_a_limit_may_be_twice_the_film(tmp_path: Path) -> None:
    """-100 % to 60 %: (ln 1/.4 + ln 2)/(2 × 1.95996) = (.916291 + .693147)/3.919928 = .410579."""
    text = "site,saving,low,high\nA,5 %,-100 %,60 %\nB,5 %,2 %,7.9 %\n"
    table = read_sites(write(tmp_path, text), ("sites.csv, line 2.low",))
    assert table.sites[0].standard_error == pytest.approx(0.410579, abs=1e-6)


def test_limits_stand_in_for_a_standard_error(tmp_path: Path) -> None:
    table = read_sites(
        write(tmp_path, "site,saving,low,high\nA,5 %,1.079 %,8.766 %\nB,5 %,2 %,7.9 %\n")
    )
    assert table.sites[0].standard_error == pytest.approx(0.0206, abs=1e-4)


def test_toml_says_the_same(tmp_path: Path) -> None:
    lines = "".join(
        f'[[site]]\nsite = "{name}"\nsaving = "{saving} %"\n'
        f"standard_error = 0.01\nforce = {force}\n"
        for name, saving, force in (("A", 4, 40), ("B", 6, 50.5))
    )
    table = read_sites(write(tmp_path, lines, "sites.toml"))
    assert table.covariates == ("force",)
    assert table.sites[1].saving == pytest.approx(0.06)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (HEADER + ROWS.splitlines()[0], ["1 row", "at least 2"]),
        (
            "site,saving,standard_error\nA,5 %,0 %\nB,5 %,1 %\n",
            ["line 2.standard_error", "above 0"],
        ),
        ("site,saving,standard_error\nA,5 %,1 %\na,6 %,1 %\n", ["'a'", "line 2", "each site once"]),
        ("site,saving,standard_error\nA,5.1,1 %\nB,6 %,1 %\n", ["line 2.saving", "per cent sign"]),
        ("site,saving,standard_error\nA,5 kg,1 %\nB,nan,1 %\n", ["5 kg", "line 3.saving"]),
        ("site,saving,standard_error\nA,5 %\nB,6 %,1 %\n", ["line 2", "cells: 2"]),
        ("site,saving,standerd_error\nA,5 %,1 %\n", ["did you mean standard_error"]),
        ("site,saving,saving\nA,5 %,1 %\n", ["'saving' twice"]),
        ("plant,saving\nA,5 %\n", ["columns plant, saving"]),
        ("", ["site, saving, standard_error"]),
        ("site,saving\nA,5 %\nB,6 %\n", ["standard_error", "low and high"]),
        ("site,saving,low,high\nA,5 %,6 %,7 %\nB,6 %,1 %,9 %\n", ["low < saving < high"]),
        ("site,saving,standard_error\n,5 %,1 %\nB,6 %,1 %\n", ["name of the site"]),
    ],
)
def test_bad_tables_name_the_cell(tmp_path: Path, text: str, words: list[str]) -> None:
    with pytest.raises(InputError) as caught:
        read_sites(write(tmp_path, text))
    for word in words:
        assert word.lower() in str(caught.value).lower()


def test_files_that_are_no_table(tmp_path: Path) -> None:
    binary = tmp_path / "sites.csv"
    binary.write_bytes(b"\xff\xfe\x00site")
    large = tmp_path / "large.csv"
    large.write_bytes(b"x" * 5_000_001)
    for path in (binary, large, tmp_path / "missing.csv", tmp_path):
        with pytest.raises(InputError):
            read_sites(path)


def test_pooling_refuses_one_site_and_zero_error() -> None:
    with pytest.raises(InputError, match="at least 2"):
        pool(np.array([0.05]), np.array([0.01]))
    with pytest.raises(InputError, match="standard_error"):
        pool(np.array([0.05, 0.06]), np.array([0.01, 0.0]))
    with pytest.raises(InputError, match="finite"):
        pool(np.array([0.05, np.nan]), np.array([0.01, 0.01]))


def test_a_saving_and_its_effect_go_both_ways() -> None:
    for saving in (-0.5, 0.0, 0.05, 0.9):
        assert saving_of(effect_of(saving)) == pytest.approx(saving, abs=1e-15)


@pytest.mark.parametrize("sites", [4, 10])
@pytest.mark.parametrize("spread_ratio", [0.5, 1.0, 3.0])
def test_prediction_interval_covers(sites: int, spread_ratio: float) -> None:
    """300 seeded sets of sites: the 95 % interval holds at least 92 % of next sites' true effects
    (95 % less two and a half standard errors of the simulation)."""
    rng = np.random.default_rng(100 * sites + int(10 * spread_ratio))
    held = 0
    for _ in range(300):
        errors = 0.015 * rng.uniform(0.5, 2.0, sites)
        spread = 0.015 * spread_ratio
        effects = 0.05 + spread * rng.normal(size=sites) + errors * rng.normal(size=sites)
        fit = fit_random_effects(effects, errors, np.ones((sites, 1)))
        low, high = prediction_interval(effects, errors, fit)
        held += low <= 0.05 + spread * rng.normal() <= high
    assert held >= 0.92 * 300


def test_sites_that_happen_to_agree_know_their_mean_no_better() -> None:
    """Five equal errors of .01 and effects whose squares about .05 sum to .00025, Q of 2.5 on 4.

    Wherever the spread is drawn, 4 is more than Q: the mean's error is √((.01² + tau²)/5), never
    the smaller one that Q over 4 would make of it, and the mean lies t of 4 errors about .05.
    """
    effects = np.array([0.04, 0.06, 0.05, 0.055, 0.045])
    means, spreads = plausible_sites(effects, np.full(5, 0.01))
    off = (means - 0.05) / np.sqrt((0.01**2 + spreads**2) / 5)
    assert stats.kstest(off, stats.t(4).cdf).pvalue > 0.001
    # Chi-squared of 4 is 2.5 or more in .6446, e^-1.25 (1 + 1.25): then no spread is seen at all.
    assert np.mean(spreads == 0.0) == pytest.approx(0.6446, abs=0.02)


def test_share_of_sites_follows_the_spread() -> None:
    rng = np.random.default_rng(8)
    errors = np.full(400, 0.002)
    effects = rng.normal(0.05, 0.02, 400)
    share = share_of(plausible_sites(effects, errors), 0.07)
    assert share.low < 0.1587 < share.high
    assert share.expected == pytest.approx(0.1587, abs=0.04)


def claim_verdicts(text: str, effects: np.ndarray, errors: np.ndarray) -> list[str]:
    pooled = pool(effects, errors)
    return [each.verdict for each in check_claim(read_claim(text), effects, errors, pooled)]


def test_equal_noisy_sites_do_not_carry_an_up_to() -> None:
    """Sites that all save 5 %: one shows 11 %, yet 'up to 15 %' is refuted, the average stands."""
    rng = np.random.default_rng(3)
    errors = np.full(40, 0.025)
    effects = 0.051 + errors * rng.normal(size=40)
    assert saving_of(effects.max()) > 0.09
    assert claim_verdicts("4.9 % on average, up to 15 %", effects, errors)[1] == "contradicted"
    assert claim_verdicts("at least 3 % on average", effects, errors) == ["supported"]


def test_sites_that_differ_carry_an_up_to() -> None:
    effects = np.array([0.02, 0.18, 0.05, 0.17, 0.03, 0.16, 0.04, 0.19])
    errors = np.full(8, 0.005)
    assert claim_verdicts("up to 15 %", effects, errors) == ["supported"]
    assert claim_verdicts("at least 5 %", effects, errors) == ["contradicted"]
    assert claim_verdicts("20 % on average", effects, errors) == ["contradicted"]


def test_every_part_of_a_claim_is_judged() -> None:
    effects = np.array([0.02, 0.18, 0.05, 0.17, 0.03, 0.16, 0.04, 0.19])
    errors = np.full(8, 0.005)
    assert claim_verdicts("5 % on average, up to 40 %", effects, errors) == [
        "supported",
        "contradicted",
    ]
    assert claim_verdicts("at most 10 %", effects, errors) == ["contradicted"]
    assert claim_verdicts("most sites save at least 25 %", effects, errors) == ["contradicted"]
    assert claim_verdicts("half of sites save 2 % or more", effects, errors) == ["supported"]
    assert claim_verdicts("less than 30 % on average", effects, errors) == ["supported"]
    assert claim_verdicts("2 % on average", effects, errors) == ["supported"]  # less than is shown


@pytest.mark.parametrize(
    ("claim", "verdict"),
    [
        ("at least 3.6 % on average", "supported"),
        ("at least 3.8 % on average", "not shown"),
        ("at least 4.8 % on average", "not shown"),
        ("at least 6.0 % on average", "not shown"),
        ("at least 6.1 % on average", "contradicted"),
        # The estimate itself may be told, to a tenth of a per cent, and not more than it.
        ("4.9 % on average", "supported"),
        ("5.0 % on average", "not shown"),
        ("6.1 % on average", "contradicted"),
        ("less than 6.1 % on average", "supported"),
        ("less than 6.0 % on average", "not shown"),
        ("less than 3.6 % on average", "contradicted"),
    ],
)
def test_an_average_is_claimed_within_its_interval(claim: str, verdict: str) -> None:
    """Five sites about .05 that differ by less than their errors of .01: .01/√5 = .0044721.

    Student's t of 4 degrees of freedom, 2.77645 in a table: .05 ± .012417, savings of 3.689 to
    6.051 %, at 4.877 % by estimate.
    """
    effects, errors = np.array([0.04, 0.06, 0.05, 0.055, 0.045]), np.full(5, 0.01)
    assert claim_verdicts(claim, effects, errors) == [verdict]


def test_a_claimed_interval_must_be_as_wide_as_the_records_make_it() -> None:
    effects, errors = np.array([0.04, 0.06, 0.05, 0.055, 0.045]), np.full(5, 0.01)
    pooled = pool(effects, errors)
    low, high = (100 * saving_of(each) for each in (pooled.low, pooled.high))
    mean = 100 * saving_of(pooled.mean)
    wide = (
        f"{mean:.1f} % on average (95 % confidence interval {low - 0.1:.1f} to {high + 0.1:.1f} %)"
    )
    assert claim_verdicts(wide, effects, errors) == ["supported"]
    assert claim_verdicts(wide.replace("95", "99.9"), effects, errors) == ["not shown"]
    assert claim_verdicts(f"{mean:.1f} % ± 0.1 % on average", effects, errors) == ["not shown"]
    assert claim_verdicts("90 % ± 1 % on average", effects, errors) == ["contradicted"]


def test_every_site_holds_only_where_hardly_any_falls_short() -> None:
    errors = np.full(12, 0.001)
    alike = 0.05 + 0.0005 * np.array([-1, 1, 0, 0, 1, -1, 0, 1, -1, 0, 0.5, -0.5])
    assert claim_verdicts("guaranteed 4 %", alike, errors) == ["supported"]
    assert claim_verdicts("guaranteed 5 %", alike, errors) == ["contradicted"]
    assert claim_verdicts("at most 6 %", alike, errors) == ["supported"]
    few = alike[:3]
    assert claim_verdicts("guaranteed 4.9 %", few, errors[:3]) != ["supported"]


def test_an_interval_reads_alike_everywhere_and_no_narrower_than_it_is(tmp_path: Path) -> None:
    """Eight sites of 5.5 %, 4.5 % ...; ends by hand: 4.66 % is said as 4.6 %, 6.04 % as 6.1 %."""
    assert interval_texts(0.0466, 0.0604, Wording()) == ("4.6 %", "6.1 %")
    assert interval_texts(-0.0004, 0.05, Wording()) == ("-0.1 %", "5.0 %")
    rows = "".join(f"site {n},{4 + n % 3}.5 %,0.8 %\n" for n in range(8))
    table = read_sites(write(tmp_path, "site,saving,standard_error\n" + rows))
    blocks = sites_blocks(analyse_sites(table, SitesQuestions(claim="5 % on average")), Wording())
    told = " ".join(block_texts(blocks))
    found = set(re.findall(r"95 % (?:confidence )?interval (\d\.\d %) to (\d\.\d %)", told))
    assert found == {("4.6 %", "6.1 %")}


def composed(effects: np.ndarray, errors: np.ndarray) -> HonestClaim:
    pooled = pool(effects, errors)
    return honest_claim(pooled, strongest_claims(effects, errors, pooled), Wording())


def test_claim_wording_follows_the_strength() -> None:
    errors = np.full(6, 0.01)
    near = np.array([0.05, 0.052, 0.048, 0.051, 0.049, 0.05])
    assert claim_strength(pool(near, errors / 10)) == "next site"
    assert "save nothing" not in composed(near, errors / 10).sentence
    assert (
        "may be said, as no more than one site in twenty" in composed(near, errors / 10).paragraph
    )
    apart = np.array([0.0, 0.1, 0.02, 0.09, 0.01, 0.08])
    assert claim_strength(pool(apart, errors)) == "average"
    assert "may save nothing" in composed(apart, errors).sentence
    assert "No saving may be promised to every site" in composed(apart, errors).paragraph
    # Within 0.2 % of each other at an error of 1 %; 4 % either side of the middle at the same.
    assert "differ no more than their measurement error" in composed(near, errors).paragraph
    assert "The sites truly differ." in composed(apart, errors).paragraph
    assert "The sites truly differ." not in composed(near, errors).paragraph
    nothing = np.array([-0.02, 0.03, 0.0, 0.02, -0.01, 0.01])
    assert claim_strength(pool(nothing, errors)) == "none"
    assert composed(nothing, errors).label == "No saving shown at 6 sites"
    assert "do not show" in composed(nothing, errors).sentence
    worse = np.full(6, -0.05) + errors * np.array([0, 1, -1, 0, 1, -1]) / 10
    assert "more film was used" in composed(worse, errors).label


def test_what_is_composed_is_supported_when_it_is_read_again() -> None:
    """Sixty seeded tables: label, largest "at least on average", "up to" and "every site"."""
    rng = np.random.default_rng(14)
    for _ in range(60):
        sites = int(rng.integers(3, 14))
        errors = rng.uniform(0.002, 0.02, sites)
        effects = rng.normal(0.07, 0.02) + errors * rng.normal(size=sites)
        effects = effects + rng.choice([0.0, 0.02]) * rng.normal(size=sites)
        pooled = pool(effects, errors)
        best = strongest_claims(effects, errors, pooled)
        texts = [f"up to {100 * best.up_to - 0.01:.3f} %"]
        texts.append(f"at least {100 * best.average_low - 0.01:.3f} % on average")
        texts.append(f"at least {100 * best.every_site - 0.01:.3f} % at every site")
        if claim_strength(pooled) != "none":
            texts.append(honest_claim(pooled, best, Wording()).label)
        for text in texts:
            assert claim_verdicts(text, effects, errors) == ["supported"], text
        too_much = f"up to {100 * best.up_to + 0.05:.3f} %"
        assert claim_verdicts(too_much, effects, errors) != ["supported"]


def test_most_that_many_sites_carry() -> None:
    """200 sites at 3 % and 200 at 7 %, errors of .0001: a spread of .02 about .05.

    One site in twenty of a normal spread lies 1.64485 of it up: .0329. Mean and spread of 400 are
    known to .02/√400 and .02/√800, together √(.02²/400 + 1.64485² × .02²/800) = .001534; 1.96 of
    that is .003007, to the safe side. Up to .05 + .0329 - .0030 = .0799, at every site
    .05 - .0329 - .0030 = .0141, as savings 7.68 and 1.40 %.

    Tolerance: a spread drawn by chi-squared leans by .0002, and so much do 2.5 % of draws scatter.
    """
    effects, errors = np.repeat([0.03, 0.07], 200), np.full(400, 1e-4)
    best = strongest_claims(effects, errors, pool(effects, errors))
    assert best.average == pytest.approx(1 - np.exp(-0.05), abs=1e-6)
    assert best.up_to == pytest.approx(0.0768, abs=4e-4)
    assert best.every_site == pytest.approx(0.0140, abs=4e-4)
    for text, found in (
        ("up to 7.5 %", "supported"),
        ("up to 7.9 %", "not shown"),
        ("at least 1.2 % at every site", "supported"),
        ("at least 1.6 % at every site", "not shown"),
    ):
        assert claim_verdicts(text, effects, errors) == [found], text


@pytest.mark.parametrize("ratio", [0.0, 1.0])
def test_composed_claims_are_seldom_false(ratio: float) -> None:
    """150 seeded tables of eight sites, spread none or as large as the error: claims that the truth
    belies come in at most 5 % of tables plus two and a half standard errors (1.8 %)."""
    rng = np.random.default_rng(15)
    spread, mean = 0.015 * ratio, 0.05
    false = {"average": 0, "every site": 0, "up to": 0}
    for _ in range(150):
        errors = 0.015 * rng.uniform(0.5, 2.0, 8)
        effects = mean + spread * rng.normal(size=8) + errors * rng.normal(size=8)
        best = strongest_claims(effects, errors, pool(effects, errors))
        false["average"] += effect_of(best.average_low) > mean
        false["every site"] += effect_of(best.every_site) > mean - 1.645 * spread
        false["up to"] += effect_of(best.up_to) > mean + 1.645 * spread
    assert max(false.values()) <= 150 * (0.05 + 2.5 * 0.018)


def test_largest_by_chance_agrees_with_simulation() -> None:
    errors = np.array([0.001, 0.02, 0.03, 0.015])
    rng = np.random.default_rng(4)
    largest = (0.05 + errors * rng.normal(size=(200_000, 4))).max(axis=1)
    expected = largest_by_chance(0.05, errors)
    assert expected.mean == pytest.approx(largest.mean(), abs=2e-4)
    assert expected.low == pytest.approx(np.quantile(largest, 0.05), abs=2e-4)
    assert expected.high == pytest.approx(np.quantile(largest, 0.95), abs=3e-4)
    assert chance_that_largest_reaches(0.09, 0.05, errors) == pytest.approx(
        (largest >= 0.09).mean(), abs=2e-3
    )


def test_a_covariate_that_made_the_difference_is_found_and_noise_is_not() -> None:
    rng = np.random.default_rng(2)
    force = rng.uniform(30, 60, 40)
    noise = rng.normal(size=40)
    errors = np.full(40, 0.008)
    effects = 0.02 + 0.001 * (force - 30) + errors * rng.normal(size=40)
    found = {
        each.slopes[0].covariate: each
        for each in explain_one_by_one(effects, errors, {"force": force, "noise": noise})
    }
    slope = found["force"].slopes[0]
    assert slope.low < 0.001 < slope.high
    assert slope.adjusted_p_value < 1e-3 < 0.05 < found["noise"].slopes[0].adjusted_p_value
    assert found["force"].explained is not None
    assert found["force"].explained > 0.8


def test_covariates_that_cannot_explain_are_refused() -> None:
    effects, errors = np.array([0.05, 0.06, 0.04, 0.05]), np.full(4, 0.01)
    ramp = np.arange(4.0)
    with pytest.raises(InputError, match="at every site"):
        explain_together(effects, errors, {"same": np.ones(4)})
    with pytest.raises(InputError, match="combinations"):
        explain_together(effects, errors, {"a": ramp, "b": 2 * ramp + 1})
    with pytest.raises(InputError, match="fewer covariates"):
        explain_together(
            effects, errors, {name: ramp**index for index, name in enumerate("zabc", 1)}
        )


def test_forest_plot_keeps_odd_names(tmp_path: Path) -> None:
    rows = ROWS.replace("North", "$x_1$ & <North> long " + "n" * 60)
    table = read_sites(write(tmp_path, HEADER + rows))
    figure = forest_figure(table, pool(table.effects, table.standard_errors))
    figure.savefig(tmp_path / "forest.svg")
    assert (tmp_path / "forest.svg").stat().st_size > 5000
