"""The precision and the consistency of every material of a round (ASTM E691) in numpy and scipy: the peer of
`stonewear-bench between`.

Usage: between.py ROUND OUT RUNS. Prints the seconds of each run as JSON: reading, working out, writing.
"""
import csv
import json
import sys
import time

import numpy
from scipy import stats

ALPHA = 0.005


def work(round_, out):
    with open(round_, newline="") as file:
        rows = list(csv.reader(file))[1:]
    names = list(dict.fromkeys(row[0] for row in rows))
    values = numpy.array([row[2:4] for row in rows], dtype=float).reshape(len(names), -1, 2)
    laboratories, results = values.shape[1], values.shape[2]
    means = values.mean(axis=2)
    spread = values.std(axis=2, ddof=1)
    mean = means.mean(axis=1)
    s_x = means.std(axis=1, ddof=1)
    s_r = numpy.sqrt((spread**2).mean(axis=1))
    s_l2 = numpy.maximum(s_x**2 - s_r**2 / results, 0)
    s_reproducibility = numpy.sqrt(s_l2 + s_r**2)
    h = numpy.abs(means - mean[:, None]) / s_x[:, None]
    k = spread / s_r[:, None]
    t = stats.t.ppf(1 - ALPHA / 2, laboratories - 2)
    h_critical = (laboratories - 1) * t / numpy.sqrt(laboratories * (t * t + laboratories - 2))
    f = stats.f.isf(ALPHA, results - 1, (laboratories - 1) * (results - 1))
    k_critical = numpy.sqrt(laboratories / (1 + (laboratories - 1) / f))
    apart = ((h > h_critical) | (k > k_critical)).sum(axis=1)
    with open(out, "w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["material", "mean", "s_r", "s_R", "apart"])
        for row in zip(names, mean, s_r, s_reproducibility, apart):
            writer.writerow([row[0], *(f"{value:.9f}" for value in row[1:4]), row[4]])


def main():
    seconds = []
    for _ in range(int(sys.argv[3])):
        begun = time.perf_counter()
        work(sys.argv[1], sys.argv[2])
        seconds.append(time.perf_counter() - begun)
    print(json.dumps({"seconds": seconds}))


main()
