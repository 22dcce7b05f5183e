"""Reference values from SciPy for test/unit/statistics.

Written with Debian's python3-scipy 1.10:
    /usr/bin/python3 test/reference/verdict/statistics.py > test/fixtures/verdict/statistics.json
"""

import json

import numpy as np
from scipy import optimize, stats

rng = np.random.default_rng(7)

student = [
    {"t": t, "dof": dof, "cdf": float(stats.t.cdf(t, dof))}
    for dof in (1, 2, 2.5, 5, 9.3, 30, 400)
    for t in (-6.0, -1.3, 0.2, 2.5)
]
student_quantiles = [
    {"p": p, "dof": dof, "t": float(stats.t.ppf(p, dof))}
    for dof in (1, 2, 4.4, 11, 60)
    for p in (0.005, 0.025, 0.3, 0.95, 0.999)
]
normal = [{"z": z, "cdf": float(stats.norm.cdf(z))} for z in (-7.5, -3, -0.4, 0, 1.1, 4.2)]
normal_quantiles = [{"p": p, "z": float(stats.norm.ppf(p))} for p in (1e-9, 0.001, 0.02, 0.5, 0.77, 0.9999)]

wilcoxon = []
for n in (5, 8, 14, 25, 40):
    x = np.round(rng.normal(0.4, 1.0, n), 6)
    both = stats.wilcoxon(x, mode="exact")
    greater = stats.wilcoxon(x, mode="exact", alternative="greater")
    wilcoxon.append(
        {"x": x.tolist(), "smaller": float(both.statistic), "p": float(both.pvalue), "greater": float(greater.pvalue)}
    )

assignment = []
for rows, columns in ((4, 4), (7, 7), (3, 9), (12, 5), (30, 30)):
    cost = np.round(rng.uniform(0, 10, (rows, columns)), 4)
    chosen = optimize.linear_sum_assignment(cost)
    assignment.append({"cost": cost.tolist(), "total": float(cost[chosen].sum())})

print(
    json.dumps(
        {
            "student": student,
            "studentQuantiles": student_quantiles,
            "normal": normal,
            "normalQuantiles": normal_quantiles,
            "wilcoxon": wilcoxon,
            "assignment": assignment,
        }
    )
)
