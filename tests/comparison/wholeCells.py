"""Every figure of every family cell of a campaign, from its runs, by linear algebra and full enumeration.

In: {"runs": [{"trajectory", "candidate", "block", "values": {"vehicle x": metres, ...}}], "margin": metres, "trajectories": [...]}
Out: one object per cell, trajectories x subjects x axes.
"""
import itertools
import json
import sys

import numpy as np
from scipy import stats


def usable_blocks(side, block):
    return [b for b in dict.fromkeys(block) if len({s for s, c in zip(side, block) if c == b}) == 2]


def fit(y, side, block):
    """difference, se, df, method"""
    both = usable_blocks(side, block)
    if len(both) < 2:
        a, b = y[side == 0], y[side == 1]
        if min(len(a), len(b)) < 2:
            return None
        va, vb = a.var(ddof=1) / len(a), b.var(ddof=1) / len(b)
        df = (va + vb) ** 2 / (va**2 / (len(a) - 1) + vb**2 / (len(b) - 1)) if va + vb > 0 else None
        return b.mean() - a.mean(), np.sqrt(va + vb), df, "welch"
    keep = np.array([b in both for b in block])
    y, side, block = y[keep], side[keep], block[keep]
    X = np.column_stack([side] + [block == b for b in both]).astype(float)
    inverse = np.linalg.inv(X.T @ X)
    beta = inverse @ X.T @ y
    e = y - X @ beta
    n, rank = X.shape
    counts = [(np.sum((block == b) & (side == 0)), np.sum((block == b) & (side == 1))) for b in both]
    if all(p == q for p, q in counts):
        return beta[0], np.sqrt(e @ e / (n - rank) * inverse[0, 0]), n - rank, "blocked"
    h = np.einsum("ij,jk,ik->i", X, inverse, X)
    w = (e / (1 - h)) ** 2
    share = [((inverse @ (X * (w * (side == s))[:, None]).T @ X @ inverse)[0, 0]) for s in (0, 1)]
    df = sum(share) ** 2 / sum(v**2 / (np.sum(side == s) - 1) for s, v in enumerate(share))
    return beta[0], np.sqrt(sum(share)), min(df, n - rank), "blocked"


def permutation(y, side, block, method):
    """p and number of arrangements; each arrangement's difference fitted again"""
    names = list(dict.fromkeys(block))
    members = [np.flatnonzero(block == b) for b in names]
    if method == "blocked":
        keep = usable_blocks(side, block)
        members = [m for m, b in zip(members, names) if b in keep]
    used = np.concatenate(members)
    ways = [list(itertools.combinations(m, int(side[m].sum()))) for m in members]
    found = []
    for choice in itertools.product(*ways):
        label = np.zeros(len(y))
        label[[i for part in choice for i in part]] = 1
        found.append(difference(y, label, members, used, method))
    own = difference(y, side, members, used, method)
    found = np.abs(np.array(found))
    return float(np.mean(found >= abs(own) * (1 - 1e-10))), len(found)


def difference(y, label, members, used, method):
    if method == "welch":
        return y[used][label[used] == 1].mean() - y[used][label[used] == 0].mean()
    X = np.zeros((len(y), 1 + len(members)))
    X[:, 0] = label
    for j, m in enumerate(members):
        X[m, 1 + j] = 1
    return np.linalg.lstsq(X[used], y[used], rcond=None)[0][0]


def cell(y, side, block, margin):
    n = [int(np.sum(side == s)) for s in (0, 1)]
    result = {"n": n, "mean": [y[side == s].mean() if n[s] else None for s in (0, 1)]}
    result["sd"] = [y[side == s].std(ddof=1) if n[s] > 1 else None for s in (0, 1)]
    fitted = fit(y, side, block)
    if fitted is None or not fitted[1] > 0:
        return {**result, "p": None}
    d, se, df, method = fitted
    p, arrangements = permutation(y, side, block, method)
    both = usable_blocks(side, block)
    pool = [b for b in dict.fromkeys(block) if method == "welch" or b in both]
    mirrored = all(np.sum((block == b) & (side == 0)) == np.sum((block == b) & (side == 1)) for b in pool)
    groups = [y[(block == b) & (side == s)] for b in dict.fromkeys(block) for s in (0, 1)]
    squares = sum(((g - g.mean()) ** 2).sum() for g in groups if len(g))
    within = sum(len(g) - 1 for g in groups if len(g))
    return {
        **result,
        "difference": d,
        "se": se,
        "df": df,
        "method": method,
        "p": 2 * stats.t.sf(abs(d) / se, df),
        "ci95": [d + q * se for q in stats.t.ppf([0.025, 0.975], df)],
        "ci90": [d + q * se for q in stats.t.ppf([0.05, 0.95], df)],
        "p_equivalence": max(stats.t.sf((d + margin) / se, df), stats.t.cdf((d - margin) / se, df)),
        "p_permutation": p,
        "p_least": (2 if mirrored and arrangements > 1 else 1) / arrangements,
        "arrangements": arrangements,
        "pair": None
        if within < 4
        else {
            "sd": np.sqrt(squares / within),
            "df": within,
            "limit": np.sqrt(2 * squares / within) * stats.t.ppf(0.975, within),
        },
    }


def family(cells):
    """Holm's p and the verdicts"""
    entered = [1 if min(c["n"]) < 3 or c["p"] is None else c["p"] for c in cells]
    order = np.argsort(entered, kind="stable")
    running = 0
    for rank, i in enumerate(order):
        running = max(running, min(1, (len(cells) - rank) * entered[i]))
        cells[i]["p_family"] = running
    for c in cells:
        if min(c["n"]) < 3 or c["p"] is None:
            c["verdict"] = "too few runs"
        elif c["p_equivalence"] < 0.05:
            c["verdict"] = "no difference that matters"
        elif c["p_family"] < 0.05:
            c["verdict"] = "steadier" if c["difference"] < 0 else "less steady"
        else:
            c["verdict"] = "within the noise"
    return cells


def main():
    asked = json.load(sys.stdin)
    cells = []
    for trajectory in asked["trajectories"]:
        runs = [run for run in asked["runs"] if run["trajectory"] == trajectory]
        side = np.array([int(run["candidate"]) for run in runs])
        block = np.array([run["block"] or "none" for run in runs])
        for subject in ("vehicle", "effector"):
            for axis in "xyz":
                y = np.array([run["values"][f"{subject} {axis}"] for run in runs])
                cells.append(cell(y, side, block, asked["margin"]))
    plain = lambda value: value.item() if isinstance(value, np.generic) else value
    print(json.dumps(family(cells), default=plain))


main()
