#!/usr/bin/env python3
"""Recomputes, from the inputs stored beside it, the numbers that libraries computed, and compares.

    python3 -m venv DIR && DIR/bin/pip install -r requirements.txt && DIR/bin/python recompute.py

Prints one line a file; ends with status 1 and the differences if a number differs by more than its tolerance:
relative 1e-9 for closed forms, 1e-7 for roots and integrals (absolute 1e-12 near 0), and as said at the place otherwise.
"""
import csv
import json
import math
import pathlib
import sys
import warnings

import mpmath
import numpy as np
import pymannkendall
import ruptures
from scipy import optimize, stats
from statsmodels.stats import rates
from statsmodels.stats.contingency_tables import StratifiedTable
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.proportion import proportion_confint

warnings.filterwarnings("ignore")
HERE = pathlib.Path(__file__).resolve().parent
CLOSED, SEARCHED = 1e-9, 1e-7
differences = []
n_compared = 0


def table(name):
    with open(HERE / name, newline="") as f:
        return list(csv.DictReader(f))


def document(name):
    return json.loads((HERE / name).read_text())


def number(value):
    return {"inf": math.inf, "-inf": -math.inf, "nan": math.nan}.get(value, value) if isinstance(value, str) else value


def near(stored, found, what, tolerance=CLOSED, absolute=1e-12):
    global n_compared
    n_compared += 1
    a, b = float(number(stored)), float(found)
    same = a == b or (math.isnan(a) and math.isnan(b)) or abs(a - b) <= max(absolute, tolerance * abs(b))
    if not same:
        differences.append(f"{what}: stored {a!r}, recomputed {b!r}")


def equal(stored, found, what):
    global n_compared
    n_compared += 1
    if stored != found:
        differences.append(f"{what}: stored {stored!r}, recomputed {found!r}")


def check_01_individuals():
    e = document("01_individuals_expected.json")
    x = np.array([float(r["flow_rate"]) for r in table("01_individuals_nist_flowrate.csv")])
    moving = np.abs(np.diff(x))
    d2, d3 = 2 / math.sqrt(math.pi), math.sqrt(2 - 4 / math.pi)
    for key, divisor, upper in (("table_constants", 1.128, 3.267), ("exact_constants", d2, 1 + 3 * d3 / d2)):
        sigma = moving.mean() / divisor
        for name, value in dict(ucl=x.mean() + 3 * sigma, cl=x.mean(), lcl=x.mean() - 3 * sigma,
                                mr_ucl=upper * moving.mean(), sigma=sigma).items():
            near(e[key][name], value, f"01 {key} {name}")
    near(e["sigma_from_median_mr"], np.median(moving) / (math.sqrt(2) * stats.norm.ppf(0.75)), "01 median range")


def check_02_charts():
    e = document("02_cusum_ewma_attribute_expected.json")
    c, high, low, signals = e["cusum"], 0.0, 0.0, []
    for i, r in enumerate(table("02_cusum_nist.csv"), 1):
        d = float(r["x"]) - c["target"]
        high, low = max(0.0, high + d - c["k"]), max(0.0, low - d - c["k"])
        near(r["s_hi"], high, f"02 cusum {i}", absolute=1e-9)
        near(r["s_lo"], low, f"02 cusum {i}", absolute=1e-9)
        if high > c["h"] or low > c["h"]:
            signals.append(i)
    equal(c["signal_indices"], signals, "02 cusum signals")
    w = e["ewma"]
    z, lam = w["ewma0"], w["lam"]
    for i, r in enumerate(table("02_ewma_nist.csv"), 1):
        z = lam * float(r["x"]) + (1 - lam) * z
        half = 3 * w["s"] * math.sqrt(lam / (2 - lam) * (1 - (1 - lam) ** (2 * i)))
        near(r["ewma"], z, f"02 ewma {i}", absolute=1e-9)
        near(r["ucl_time_varying"], w["ewma0"] + half, f"02 ewma limit {i}", absolute=1e-9)
    near(w["ucl"], w["ewma0"] + 3 * w["s"] * math.sqrt(lam / (2 - lam)), "02 ewma ucl")
    counts = np.array([int(r["defects"]) for r in table("02_cchart_nist.csv")])
    near(e["cchart"]["ucl"], counts.mean() + 3 * math.sqrt(counts.mean()), "02 c chart")
    near(e["cchart"]["exact_poisson_upper_tail_c28"], stats.poisson.sf(27, counts.mean()), "02 Poisson tail")
    near(e["cchart"]["exact_poisson_upper_tail_c31"], stats.poisson.sf(30, counts.mean()), "02 Poisson tail")
    p = sum(int(r["defective"]) for r in table("02_pchart_nist.csv")) / 1500
    near(e["pchart"]["ucl"], p + 3 * math.sqrt(p * (1 - p) / 50), "02 p chart")
    rows = table("02_uchart_pchart_varying_n.csv")
    k, n = (np.array([int(r[key]) for r in rows]) for key in ("rejections", "cycles"))
    u = k.sum() / n.sum()
    for i, r in enumerate(rows):
        near(r["u_ucl"], u + 3 * math.sqrt(u / n[i]), f"02 u chart {i}")
        near(r["u_lcl"], max(0, u - 3 * math.sqrt(u / n[i])), f"02 u chart {i}")
        near(r["p_ucl"], min(1, u + 3 * math.sqrt(u * (1 - u) / n[i])), f"02 p chart {i}")


def check_03_rules():
    """The definitions once more, written over sets of places instead of windows."""
    for case in document("03_run_rules.json")["cases"]:
        z = np.array(case["z"])
        step = np.sign(np.diff(z))
        fired = {}

        def rule(name, length, shown):
            fired[name] = [i + 1 for i in range(length - 1, len(z)) if shown(z[i - length + 1:i + 1], i)]

        def crowd(zone, needed):
            return lambda v, i: any((s * v > zone).sum() >= needed and s * v[-1] > zone for s in (1, -1))

        def side(v, i):
            return bool((v > 0).all() or (v < 0).all())

        rule("N1", 1, lambda v, i: abs(v[0]) > 3)
        rule("N2", 9, side)
        rule("N3", 6, lambda v, i: abs(step[i - 5:i].sum()) == 5)
        rule("N4", 14, lambda v, i: bool((step[i - 13:i - 1] * step[i - 12:i] < 0).all()))
        rule("N5", 3, crowd(2, 2))
        rule("N6", 5, crowd(1, 4))
        rule("N7", 15, lambda v, i: bool((abs(v) < 1).all()))
        rule("N8", 8, lambda v, i: bool((abs(v) > 1).all() and v.max() > 0 > v.min()))
        rule("WE4", 8, side)
        fired.update(WE1=fired["N1"], WE2=fired["N5"], WE3=fired["N6"])
        equal(case["all_rules_fired"], {k: v for k, v in sorted(fired.items()) if v}, f"03 {case['name']}")


def check_04_trends():
    expected = document("04_trend_expected.json")
    series = {}
    for r in table("04_trend_series.csv"):
        series.setdefault(r["series"], []).append(float(r["value"]))
    for name, e in expected.items():
        x = np.array(series[name])
        t = np.arange(len(x), dtype=float)
        o = pymannkendall.original_test(x)
        for key, value in dict(mk_S=o.s, mk_var_S=o.var_s, mk_z=o.z, mk_p_two_sided=o.p, mk_tau_a=o.Tau,
                               sen_slope=o.slope, sen_intercept=o.intercept).items():
            near(e[key], value, f"04 {name} {key}")
        tau = stats.kendalltau(t, x)
        near(e["kendall_tau_b"], tau.statistic, f"04 {name} tau b")
        near(e["kendall_p_auto"], tau.pvalue, f"04 {name} p")
        near(e["kendall_p_asymptotic"], stats.kendalltau(t, x, method="asymptotic").pvalue, f"04 {name} normal p")
        if "kendall_p_exact" in e:
            near(e["kendall_p_exact"], stats.kendalltau(t, x, method="exact").pvalue, f"04 {name} exact p")
        for key, alpha in (("theil_slope_ci95", 0.95), ("theil_slope_ci90", 0.90)):
            line = stats.theilslopes(x, t, alpha=alpha)
            near(e["theil_slope"], line.slope, f"04 {name} slope")
            near(e["theil_intercept"], line.intercept, f"04 {name} intercept")
            near(e[key][0], line.low_slope, f"04 {name} {key}")
            near(e[key][1], line.high_slope, f"04 {name} {key}")
        for key, r in (("hamed_rao", pymannkendall.hamed_rao_modification_test(x)),
                       ("hamed_rao_lag3", pymannkendall.hamed_rao_modification_test(x, lag=3)),
                       ("yue_wang", pymannkendall.yue_wang_modification_test(x))):
            for field, value in dict(p=r.p, z=r.z, var_S=r.var_s).items():
                near(e[key][field], value, f"04 {name} {key} {field}", 1e-8)


def hypergeometric(t):
    (a, b), (c, d) = t
    r1, r2, c1 = a + b, c + d, a + c
    xs = np.arange(max(0, c1 - r2), min(r1, c1) + 1)
    return xs, stats.hypergeom.pmf(xs, r1 + r2, r1, c1)


def check_mid_p(stored, xs, p, x, what):
    po = p[xs == x][0]
    greater, less = p[xs > x].sum() + po / 2, p[xs < x].sum() + po / 2
    near(stored["greater"], greater, what)
    near(stored["less"], less, what)
    near(stored["two_sided_doubled"], min(1, 2 * min(greater, less)), what)
    same = np.abs(p - po) <= po * 1e-7
    near(stored["two_sided_minlik"], p[(p < po) & ~same].sum() + p[same].sum() / 2, what)


def check_05_fisher():
    for name, e in document("05_fisher_2x2.json")["cases"].items():
        t, what = e["table"], f"05 {name}"
        near(e["p_two_sided"], stats.fisher_exact(t)[1], what)
        near(e["p_greater"], stats.fisher_exact(t, "greater")[1], what)
        near(e["p_less"], stats.fisher_exact(t, "less")[1], what)
        ratio = stats.contingency.odds_ratio(np.array(t), kind="conditional")
        interval = ratio.confidence_interval(0.95)
        near(e["or_conditional_mle"], ratio.statistic, what, SEARCHED)
        near(e["or_conditional_ci95"][0], interval.low, what, SEARCHED)
        near(e["or_conditional_ci95"][1], interval.high, what, SEARCHED)
        check_mid_p(e["mid_p"], *hypergeometric(t), t[0][0], what)
        if e["barnard_two_sided"] is not None:
            near(e["barnard_two_sided"], stats.barnard_exact(t).pvalue, what, 0, 1e-4)


def check_05_strata():
    for name, e in document("05_cmh_stratified.json")["cases"].items():
        what = f"05 {name}"
        tables = e["strata"]
        s = StratifiedTable([np.array(t, float) for t in tables])
        near(e["or_mh"], s.oddsratio_pooled, what)
        for stored, found in zip(e["or_mh_ci95_rbg"], s.oddsratio_pooled_confint()):
            near(stored, found, what)
        near(e["cmh_chi2_no_correction"], s.test_null_odds(correction=False).statistic, what)
        xs, p = np.array([0]), np.array([1.0])
        for t in tables:
            x2, p2 = hypergeometric(t)
            p, xs = np.convolve(p, p2), np.arange(xs[0] + x2[0], xs[-1] + x2[-1] + 1)
        total = sum(t[0][0] for t in tables)
        two_sided = p[p <= p[xs == total][0] * (1 + 1e-7)].sum()
        if "exact_conditional" not in e:
            near(e["exact_conditional_p_two_sided"], two_sided, what)
            continue
        corrected = s.test_null_odds(correction=True)
        near(e["log_or_se_rbg"], s.logodds_pooled_se, what)
        near(e["rr_mh"], s.riskratio_pooled, what)
        near(e["cmh_p_no_correction"], s.test_null_odds(correction=False).pvalue, what)
        near(e["cmh_chi2_corrected"], corrected.statistic, what)
        near(e["cmh_p_corrected"], corrected.pvalue, what)
        for key, adjust in (("breslow_day", False), ("breslow_day_tarone", True)):
            test = s.test_equal_odds(adjust=adjust)
            near(e[key], test.statistic, what)
            near(e[key + "_p"], test.pvalue, what)
        x = e["exact_conditional"]
        near(x["p_two_sided"], two_sided, what)
        near(x["p_greater"], p[xs >= total].sum(), what)
        near(x["p_less"], p[xs <= total].sum(), what)
        check_mid_p(x["mid_p"], xs, p, total, what)
        logs = np.log(p)

        def tilted(log_ratio):
            q = logs + xs * log_ratio
            q = np.exp(q - q.max())
            return q / q.sum()

        def root(f):
            return math.exp(optimize.brentq(f, -60, 60, xtol=1e-13))

        near(x["or_conditional_mle"], root(lambda l: (tilted(l) * xs).sum() - total), what, SEARCHED)
        near(x["ci95"][0], root(lambda l: tilted(l)[xs >= total].sum() - 0.025), what, SEARCHED)
        near(x["ci95"][1], root(lambda l: tilted(l)[xs <= total].sum() - 0.025), what, SEARCHED)


def check_06_proportions():
    for r in table("06_proportion_ci95.csv"):
        k, n = int(r["k"]), int(r["n"])
        b = stats.binomtest(k, n)
        for key, method in (("wilson", "wilson"), ("wilsoncc", "wilsoncc"), ("clopper", "exact")):
            interval = b.proportion_ci(0.95, method)
            near(r[f"{key}_lo"], interval.low, f"06 {key} {k}/{n}", SEARCHED)
            near(r[f"{key}_hi"], interval.high, f"06 {key} {k}/{n}", SEARCHED)
        low, high = proportion_confint(k, n, 0.05, "jeffreys")
        near(r["jeffreys_lo"], low, f"06 jeffreys {k}/{n}", SEARCHED)
        near(r["jeffreys_hi"], high, f"06 jeffreys {k}/{n}", SEARCHED)
        # At an end of the mid-p interval the doubled mid-p is 5 %.
        for end, tail in (("lo", stats.binom.sf), ("hi", stats.binom.cdf)):
            p = float(r[f"midp_{end}"])
            if 0 < p < 1:
                at = tail(k, n, p) + 0.5 * stats.binom.pmf(k, n, p) if end == "lo" else \
                    tail(k - 1, n, p) + 0.5 * stats.binom.pmf(k, n, p)
                near(0.025, at, f"06 midp {k}/{n}", SEARCHED)


def check_06_counts():
    for r in table("06_poisson_garwood.csv"):
        k, exposure, a = int(r["count"]), float(r["exposure"]), 1 - float(r["conf"])
        what = f"06 Garwood {k}"
        near(r["count_lo"], stats.chi2.ppf(a / 2, 2 * k) / 2 if k else 0, what, SEARCHED)
        near(r["count_hi"], stats.chi2.ppf(1 - a / 2, 2 * k + 2) / 2, what, SEARCHED)
        near(r["rate_one_sided_upper"], stats.chi2.ppf(1 - a, 2 * k + 2) / 2 / exposure, what, SEARCHED)
    for r in table("06_two_poisson_rates.csv"):
        k1, k2, t1, t2 = int(r["k1"]), int(r["k2"]), float(r["t1"]), float(r["t2"])
        n, share, what = k1 + k2, t1 / (t1 + t2), f"06 rates {r['k1']}/{r['t1']}"
        near(r["p_exact_two_sided_minlik"], stats.binomtest(k1, n, share).pvalue, what)
        near(r["p_greater"], stats.binomtest(k1, n, share, "greater").pvalue, what)
        near(r["p_less"], stats.binomtest(k1, n, share, "less").pvalue, what)
        near(r["p_cond_midp"], rates.test_poisson_2indep(k1, t1, k2, t2, method="cond-midp").pvalue, what)
        if r["p_etest"]:
            near(r["p_etest"], stats.poisson_means_test(k1, t1, k2, t2).pvalue, what, SEARCHED)
        interval = stats.binomtest(k1, n).proportion_ci(0.95, "exact")
        for key, q in (("ratio_ci95_lo", interval.low), ("ratio_ci95_hi", interval.high)):
            near(r[key], math.inf if q >= 1 else q / (1 - q) * t2 / t1, what, SEARCHED)


def check_07_adjusted():
    rows = table("07_benjamini_hochberg.csv")
    p = [float(r["p"]) for r in rows]
    for key, method in (("bh", "fdr_bh"), ("holm", "holm"), ("hochberg", "simes-hochberg"),
                        ("bonferroni", "bonferroni"), ("by", "fdr_by")):
        reject, adjusted, _, _ = multipletests(p, 0.05, method)
        for i, r in enumerate(rows):
            near(r[f"{key}_adjusted"], adjusted[i], f"07 {key} {i}")
            if f"{key}_reject" in r:
                equal(r[f"{key}_reject"], str(int(reject[i])), f"07 {key} {i}")


def squares(v):
    return float(((v - v.mean()) ** 2).sum())


def check_08_changes():
    expected = document("08_changepoint_expected.json")
    for name, file, column in (("nile", "08_nile.csv", "volume"), ("three_segments", "08_three_segments.csv", "value"),
                               ("no_change", "08_no_change.csv", "value")):
        e, x = expected[name], np.array([float(r[column]) for r in table(file)])
        n = len(x)
        u = 2 * np.cumsum(stats.rankdata(x))[:-1] - np.arange(1, n) * (n + 1)
        i = int(np.argmax(np.abs(u)))
        equal(e["pettitt"]["change_after_index_1based"], i + 1, f"08 {name} Pettitt")
        near(e["pettitt"]["U_signed"], u[i], f"08 {name} Pettitt")
        near(e["pettitt"]["p_approx"], min(1, 2 * math.exp(-6 * u[i] ** 2 / (n ** 3 + n ** 2))), f"08 {name} Pettitt")
        costs = [squares(x[:k]) + squares(x[k:]) for k in range(1, n)]
        equal(e["best_single_split"]["n_before"], int(np.argmin(costs)) + 1, f"08 {name} split")
        near(e["best_single_split"]["sse_split"], min(costs), f"08 {name} split")
        library = e["ruptures"]
        for penalty, breaks in library["pelt_l2"].items():
            found = ruptures.Pelt(model="l2", min_size=2, jump=1).fit(x).predict(pen=float(penalty))
            equal(breaks, [int(b) for b in found], f"08 {name} Pelt {penalty}")
        for key, method in (("binseg_l2", ruptures.Binseg), ("dynp_l2", ruptures.Dynp)):
            for k, breaks in library[key].items():
                found = method(model="l2", min_size=2, jump=1).fit(x).predict(n_bkps=int(k))
                equal(breaks, [int(b) for b in found], f"08 {name} {key} {k}")
    e, x = expected["nile"], np.array([float(r["volume"]) for r in table("08_nile.csv")])
    welch = stats.ttest_ind(x[:28], x[28:], equal_var=False)
    near(e["welch_t_before_after"][0], welch.statistic, "08 Welch")
    near(e["welch_t_before_after"][1], welch.pvalue, "08 Welch")
    near(e["mannwhitney_p"], stats.mannwhitneyu(x[:28], x[28:]).pvalue, "08 Mann-Whitney")


def check_09_scan():
    events = {}
    for r in table("09_scan_events.csv"):
        events.setdefault(r["series"], []).append(float(r["event_day"]))
    rng = np.random.default_rng(9)
    n_replicates = 50_000
    drawn = np.sort(rng.uniform(0, 365, (n_replicates, 27)), axis=1)
    for name, e in document("09_scan_expected.json")["cases"].items():
        t = np.sort(events[name.split("_")[0]])
        counts = np.searchsorted(t, t + e["window"], side="right") - np.arange(len(t))
        equal(e["max_count"], int(counts.max()), f"09 {name}")
        near(e["first_window_start"], t[int(np.argmax(counts))], f"09 {name}")
        k = e["max_count"]
        p = float((drawn[:, k - 1:] - drawn[:, :28 - k] <= e["window"]).any(axis=1).mean())
        stored = e["monte_carlo"]["p"]
        spread = stored * (1 - stored)
        near(stored, p, f"09 {name}", 0, 4 * math.sqrt(spread / 200_000 + spread / n_replicates) + 1e-4)


def check_10_robust():
    file = document("10_robust.json")
    for name, e in file.items():
        if name == "two_sample_shift":
            continue
        x = np.array(e["data"])
        pairs = [(x[i] + x[j]) / 2 for i in range(len(x)) for j in range(i, len(x))]
        for key, value in dict(mean=x.mean(), median=np.median(x), mad_raw=stats.median_abs_deviation(x),
                               mad_normal=stats.median_abs_deviation(x, scale="normal"),
                               hodges_lehmann=np.median(pairs), trimmed_mean_10pct_each=stats.trim_mean(x, 0.1),
                               q1_type7=np.quantile(x, 0.25), q3_type7=np.quantile(x, 0.75)).items():
            near(e[key], value, f"10 {name} {key}")
    e = file["two_sample_shift"]
    a, b = np.array(e["a"]), np.array(e["b"])
    near(e["hodges_lehmann_shift_b_minus_a"], np.median(np.subtract.outer(b, a)), "10 shift")
    near(e["mannwhitney_p_exact"], stats.mannwhitneyu(b, a, method="exact").pvalue, "10 Mann-Whitney")
    series = {}
    for r in table("10_strd_data.csv"):
        series.setdefault(r["dataset"], []).append(r["value"])
    mpmath.mp.dps = 40
    for r in table("10_strd_univariate.csv"):
        if r["dataset"] not in series:
            continue
        x = [mpmath.mpf(v) for v in series[r["dataset"]]]
        mean = sum(x) / len(x)
        d = [v - mean for v in x]
        total = sum(v * v for v in d)
        what = f"10 {r['dataset']}"
        near(r["certified_mean"], mean, what, 1e-14)
        near(r["certified_sd"], mpmath.sqrt(total / (len(x) - 1)), what, 1e-14)
        near(r["certified_lag1_autocorr"], sum(p * q for p, q in zip(d, d[1:])) / total, what, 1e-13)


def check_12_posterior():
    """In the angle whose sine squared is the rate, with 20 digits; the stored quadrature is good to 1e-6."""
    mpmath.mp.dps = 20
    for r in table("12_beta_binomial.csv"):
        k1, n1, k2, n2 = (int(r[key]) for key in ("k_lot", "n_lot", "k_rest", "n_rest"))
        w = mpmath.mpf(1) if r["prior"] == "uniform" else mpmath.mpf("0.5")
        a1, b1, a2, b2 = k1 + w, n1 - k1 + w, k2 + w, n2 - k2 + w
        scale = mpmath.beta(a2, b2)
        centre, width = mpmath.asin(mpmath.sqrt(a2 / (a2 + b2))), 0.5 / mpmath.sqrt(a2 + b2)
        what = f"12 {k1}/{n1} {k2}/{n2} {r['prior']}"
        for factor, key in ((1, "p_lot_gt_rest"), (2, "p_lot_gt_2x_rest"), (3, "p_lot_gt_3x_rest")):
            top = mpmath.asin(mpmath.sqrt(mpmath.mpf(1) / factor))
            cuts = [0] + [c for c in (centre + s * width for s in (-6, -2, 2, 6, 12)) if 0 < c < top] + [top]

            def density(t):
                return 2 * mpmath.sin(t) ** (2 * a2 - 1) * mpmath.cos(t) ** (2 * b2 - 1) / scale

            # The first rate's tail by scipy: 1e-14 is enough here.
            p = mpmath.quad(lambda t: density(t) * stats.beta.sf(factor * float(mpmath.sin(t)) ** 2,
                                                                float(a1), float(b1)), cuts, maxdegree=6)
            near(r[key], p, what, 0, 1.1e-6)
        lot = stats.beta(float(a1), float(b1))
        near(r["lot_mean"], lot.mean(), what)
        near(r["lot_q025"], lot.ppf(0.025), what, SEARCHED)
        near(r["lot_q975"], lot.ppf(0.975), what, SEARCHED)


def main():
    for check in [value for name, value in globals().items() if name.startswith("check_") and name != "check_mid_p"]:
        before = n_compared
        check()
        print(f"{check.__name__.removeprefix('check_')}: {n_compared - before} numbers")
    for line in differences:
        print(line, file=sys.stderr)
    print(f"{n_compared} numbers compared, {len(differences)} differ")
    return 1 if differences or not n_compared else 0


if __name__ == "__main__":
    sys.exit(main())
