"""The BCG vaccine trials: Colditz et al., JAMA 271 (1994) 698.

Of each, the ill and the well of those vaccinated and of those who were not; where and when.
"""

import numpy as np

BCG = np.array(
    [
        [4, 119, 11, 128],
        [6, 300, 29, 274],
        [3, 228, 11, 209],
        [62, 13536, 248, 12619],
        [33, 5036, 47, 5761],
        [180, 1361, 372, 1079],
        [8, 2537, 10, 619],
        [505, 87886, 499, 87892],
        [29, 7470, 45, 7232],
        [17, 1699, 65, 1600],
        [186, 50448, 141, 27197],
        [5, 2493, 3, 2338],
        [27, 16886, 29, 17825],
    ],
    dtype=float,
)
LATITUDE = np.array([44, 55, 42, 52, 13, 44, 19, 13, 27, 42, 18, 33, 33], dtype=float)
YEAR = np.array(
    [1948, 1949, 1960, 1977, 1973, 1953, 1973, 1980, 1968, 1961, 1974, 1969, 1976], dtype=float
)


def log_risk_ratios() -> tuple[np.ndarray, np.ndarray]:
    """Log risk ratio of each trial, and its standard error."""
    treated, treated_well, control, control_well = BCG.T
    treated_n, control_n = treated + treated_well, control + control_well
    ratios = np.log(treated / treated_n / (control / control_n))
    return ratios, np.sqrt(1 / treated - 1 / treated_n + 1 / control - 1 / control_n)
