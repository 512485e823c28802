"""The work of the Monte Carlo benchmark in numpy, on one thread: draws, model, moments, sort, interval.

The model is a loss in per cent, 100 (A - B) / A + R + T, with A normal(5000, 1) g, B normal(3850, 1.5) g,
R rectangular(-0.05, 0.05) %, T triangular(-0.2, 0, 0.2) %. The shortest 95 % interval is that of
JCGM 101, 7.7: of all intervals that hold q trials, the one whose ends lie nearest.
"""
import os

for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[variable] = "1"
import resource
import statistics
import time

import numpy

RUNS = 7


def once(trials, seed):
    draw = numpy.random.Generator(numpy.random.PCG64(seed))
    before = draw.normal(5000.0, 1.0, trials)
    after = draw.normal(3850.0, 1.5, trials)
    loss = (before - after) / before * 100.0
    loss += draw.uniform(-0.05, 0.05, trials)
    loss += draw.triangular(-0.2, 0.0, 0.2, trials)
    mean, deviation = loss.mean(), loss.std(ddof=1)
    loss.sort()
    inside = int(0.95 * trials + 0.5)
    first = int((loss[inside:] - loss[:-inside]).argmin())
    return mean, deviation, loss[first], loss[first + inside]


def main():
    for trials in (1_000_000, 10_000_000):
        once(trials // 10, 1)
        seconds, found = [], None
        for seed in range(20_240, 20_240 + RUNS):
            begun = time.perf_counter()
            found = once(trials, seed)
            seconds.append(time.perf_counter() - begun)
        print(f"numpy, {trials} trials: median {statistics.median(seconds):.4f} s, best {min(seconds):.4f} s")
        print("  mean {:.6f}, sd {:.6f}, shortest 95 % {:.6f} to {:.6f}".format(*found))
    print(f"peak memory: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss} kB")


main()
