"""One-sided Clopper-Pearson bounds, computed by scipy: `python3 make.py > upper.csv`.

The upper bound of k errors in n trials with confidence c is scipy.stats.beta.ppf(c, k + 1, n - k)
(Clopper and Pearson, Biometrika 26, 1934); scipy.stats.binomtest(k, n, alternative="less") agrees.
"""

from scipy.stats import beta, binomtest

print("errors,of,confidence,upper")
for confidence in (0.9, 0.95, 0.99):
    for of in (1, 3, 10, 21, 63, 100, 300, 1000, 20000):
        for errors in (0, 1, 2, 5, 20, 299):
            if errors < of:
                upper = beta.ppf(confidence, errors + 1, of - errors)
                test = binomtest(errors, of, alternative="less").proportion_ci(confidence, "exact")
                assert abs(test.high - upper) < 1e-9, (errors, of, test.high, upper)
                print(f"{errors},{of},{confidence},{upper:.15g}")
