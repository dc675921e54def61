"""Two-sided normal tolerance factors by adaptive quadrature, for ../../bands.rs to compare with.

Run as `python3 make.py > factors.csv`, with SciPy installed. Shares no code and no node with
`src/bands/tolerance.rs`: quantiles, distributions, quadrature and root search are SciPy's.
"""
import math

from scipy import integrate, optimize, stats


def half_width(coverage, off):
    """What holds `coverage` of a normal about a point `off` standard deviations from its mean."""
    held = lambda half: stats.norm.sf(half - off) + stats.norm.sf(half + off) - (1 - coverage)
    return optimize.brentq(held, 0, abs(off) + 10, xtol=1e-13, rtol=1e-14)


def factor(coverage, confidence, presses, freedom):
    def miss(log_k):
        k = math.exp(log_k)
        integrand = lambda t: stats.norm.pdf(t) * stats.chi2.sf(
            freedom * (half_width(coverage, t / math.sqrt(presses)) / k) ** 2, freedom)
        reached, _ = integrate.quad(integrand, 0, 7.5, epsabs=1e-10, epsrel=1e-10, limit=200)
        return 2 * reached - confidence
    return math.exp(optimize.brentq(miss, math.log(0.5), math.log(1e5), xtol=1e-9))


if __name__ == "__main__":
    print("coverage,confidence,presses,freedom,factor")
    for coverage, confidence in ((0.9, 0.99), (0.95, 0.95), (0.99, 0.95), (0.999, 0.95), (0.99999, 0.99)):
        for presses in (1, 2, 3, 5, 9):
            for freedom in (2, 4, 8, 14, 32, 128):
                print(f"{coverage},{confidence},{presses},{freedom},"
                      f"{factor(coverage, confidence, presses, freedom):.8f}")
    print(f"0.9,0.99,43,42,{factor(0.9, 0.99, 43, 42):.8f}")
