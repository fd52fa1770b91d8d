"""Quantiles of Student's t against scipy, and against a printed table."""

from decimal import Decimal

import pytest
from scipy import stats

from clients.fit.quantiles import t_quantile

# NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2, critical values of Student's t for a
# probability of 0.90, 0.95 and 0.975 below (from memory; scipy is the seen reference).
PRINTED = {
    1: ("3.078", "6.314", "12.706"),
    2: ("1.886", "2.920", "4.303"),
    5: ("1.476", "2.015", "2.571"),
    10: ("1.372", "1.812", "2.228"),
    30: ("1.310", "1.697", "2.042"),
}
LEVELS = ("0.9", "0.95", "0.975")


@pytest.mark.parametrize("freedom", [*range(1, 41), 75, 200])
def test_it_is_scipys(freedom):
    for level in ("0.5", "0.6", "0.75", *LEVELS, "0.995", "0.9999"):
        found = float(t_quantile(Decimal(level), freedom))
        assert found == pytest.approx(stats.t.ppf(float(level), freedom), rel=1e-9, abs=1e-12)


def test_it_is_the_printed_table():
    for freedom, row in PRINTED.items():
        shown = tuple(f"{t_quantile(Decimal(level), freedom):.3f}" for level in LEVELS)
        assert shown == row


@pytest.mark.parametrize(("p", "freedom"), [("0.49", 3), ("1", 3), ("0.9", 0)])
def test_what_has_no_quantile_is_refused(p, freedom):
    with pytest.raises(ValueError, match="below 1 and one degree"):
        t_quantile(Decimal(p), freedom)
