"""Mixed model by restricted likelihood from the six sums of each unit alone: a check that the sums lose nothing."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize

from calcs.series import six_sums


@dataclass
class MixedFit:
    """Estimates as printed by the usual packages."""

    fixed: np.ndarray
    random_sd: np.ndarray
    correlation: float
    residual_sd: float
    criterion: float
    blups: np.ndarray

    @property
    def log_likelihood(self) -> float:
        """Restricted log likelihood."""
        return -self.criterion / 2


def fit_mixed_lines(unit: np.ndarray, x: np.ndarray, y: np.ndarray, random_slope: bool) -> MixedFit:
    """Fit level and slope with random level (and slope) by unit."""
    order = np.argsort(unit, kind="stable")
    labels, start = np.unique(np.asarray(unit)[order], return_index=True)
    w, sx, sy, sxx, sxy, syy = six_sums(np.asarray(x, float)[order], np.asarray(y, float)[order], np.ones(len(y)), start)
    gram = np.stack([np.stack([w, sx], 1), np.stack([sx, sxx], 1)], 1)
    side = np.stack([sy, sxy], axis=1)
    size = 2 if random_slope else 1

    def parts(theta: np.ndarray):
        root = np.zeros((2, size))
        root[0, 0] = theta[0]
        if random_slope:
            root[1] = theta[1], theta[2]
        inner = np.eye(size) + root.T @ gram @ root
        middle = root @ np.linalg.inv(inner) @ root.T
        xx = (gram - gram @ middle @ gram).sum(axis=0)
        pulled = np.einsum("uij,jk,uk->ui", gram, np.eye(2), np.einsum("uij,uj->ui", middle, side))
        xy = (side - pulled).sum(axis=0)
        yy = (syy - np.einsum("ui,uij,uj->u", side, middle, side)).sum()
        fixed = np.linalg.solve(xx, xy)
        free = len(y) - 2
        variance = (yy - fixed @ xy) / free
        log_det = np.linalg.slogdet(inner)[1].sum() + np.linalg.slogdet(xx)[1]
        return free * (1 + np.log(2 * np.pi * variance)) + log_det, fixed, variance, root, middle

    begin = np.array([1.0, 0.0, 0.3]) if random_slope else np.array([1.0])
    best = minimize(lambda theta: parts(theta)[0], begin, method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-12, "maxiter": 6000})
    criterion, fixed, variance, root, middle = parts(best.x)
    cov = variance * root @ root.T
    sd = np.sqrt(np.diag(cov))[:size]
    correlation = cov[0, 1] / (sd[0] * sd[1]) if random_slope else float("nan")
    blups = fixed + np.einsum("uij,uj->ui", middle, side - gram @ fixed)
    assert len(labels) == len(blups)
    return MixedFit(fixed, sd, float(correlation), float(np.sqrt(variance)), float(criterion), blups)
