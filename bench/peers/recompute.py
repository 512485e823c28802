"""Every loss, precision check and control signal, as a script or a query would work them out: the peers of
`stonewear-bench recompute`.

Usage: recompute.py pandas|duckdb TESTS OUT RUNS. Prints the seconds of each run as JSON: reading, working out,
writing, without the start of Python. Doubles are rounded to nine decimals before they are compared or rounded, so
that an exact half is one; the program itself needs no such care.
"""
import json
import math
import sys
import time

BASELINE = 20
# The mean range of two values over their standard deviation.
D2 = 2 / math.sqrt(math.pi)
# Needed, of the last so many, beyond so many standard deviations on one side, the last one among them.
RULES = {1: (1, 1, 3), 2: (2, 3, 2), 3: (4, 5, 1), 4: (8, 8, 0)}


def by_pandas(tests, out):
    import numpy
    import pandas

    table = pandas.read_csv(tests)
    first, second = (500 - table.after1_g) / 5, (500 - table.after2_g) / 5
    mean = ((first + second) / 2).round(9)
    table["loss"] = numpy.rint(mean).astype("int64")
    limit = (0.893 + 0.003 * mean).round(9)
    table["agree"] = numpy.where((first - second).abs().round(9) <= limit, "yes", "no")
    table["signals"] = ""
    reference = table.loc[table.kind == "reference", ["laboratory", "lot"]].assign(mean=mean)
    chart = [reference.laboratory, reference.lot]
    place = reference.groupby(chart, sort=False).cumcount()
    first_ones = reference[place < BASELINE]
    of_first = [first_ones.laboratory, first_ones.lot]
    ranges = first_ones.groupby(of_first, sort=False)["mean"].diff().abs()
    process = pandas.DataFrame({
        "centre": first_ones.groupby(of_first, sort=False)["mean"].mean(),
        "sigma": ranges.groupby(of_first, sort=False).mean() / D2,
    })
    rest = reference[place >= BASELINE].join(process, on=["laboratory", "lot"])
    z = ((rest["mean"] - rest.centre) / rest.sigma).round(9)
    of_rest = [rest.laboratory, rest.lot]
    signals = pandas.Series("", index=rest.index)
    for number, (needed, window, beyond) in RULES.items():
        speaks = pandas.Series(False, index=rest.index)
        for side in (1, -1):
            is_beyond = side * z > beyond
            counts = is_beyond.astype("int64").groupby(of_rest, sort=False)
            counts = counts.rolling(window, min_periods=1).sum().droplevel([0, 1])
            speaks |= is_beyond & (counts.reindex(rest.index) >= needed)
        signals = signals.where(~speaks, signals + f"+{number}")
    table.loc[rest.index, "signals"] = signals.str[1:]
    table[["laboratory", "test", "loss", "agree", "signals"]].to_csv(out, index=False)


def by_duckdb(tests, out):
    import duckdb

    def speaks(number, needed, window, beyond):
        def side(sign):
            counted = f"sum(({sign} * z > {beyond})::INTEGER) OVER (chart ROWS {window - 1} PRECEDING)"
            return f"({sign} * z > {beyond} AND {counted} >= {needed})"
        return f"CASE WHEN {side(1)} OR {side(-1)} THEN '+{number}' ELSE '' END"

    signals = " || ".join(speaks(number, *rule) for number, rule in RULES.items())
    duckdb.sql(f"""
        COPY (
            WITH read AS (
                SELECT *, row_number() OVER () AS line, (500 - after1_g) / 5 AS first, (500 - after2_g) / 5 AS second
                FROM read_csv('{tests}', types = {{'after1_g': 'DOUBLE', 'after2_g': 'DOUBLE'}})
            ), worked AS (
                SELECT *, round((first + second) / 2, 9) AS mean FROM read
            ), placed AS (
                SELECT line, laboratory, lot, mean,
                    row_number() OVER (PARTITION BY laboratory, lot ORDER BY line) AS place,
                    abs(mean - lag(mean) OVER (PARTITION BY laboratory, lot ORDER BY line)) AS range
                FROM worked WHERE kind = 'reference'
            ), process AS (
                SELECT laboratory, lot, avg(mean) AS centre, avg(range) / {D2!r} AS sigma
                FROM placed WHERE place <= {BASELINE} GROUP BY ALL
            ), judged AS (
                SELECT line, laboratory, lot, round((mean - centre) / sigma, 9) AS z
                FROM placed JOIN process USING (laboratory, lot) WHERE place > {BASELINE}
            ), said AS (
                SELECT line, substr({signals}, 2) AS signals FROM judged
                WINDOW chart AS (PARTITION BY laboratory, lot ORDER BY line)
            )
            SELECT laboratory, test, round_even(mean, 0)::BIGINT AS loss,
                CASE WHEN round(abs(first - second), 9) <= round(0.893 + 0.003 * mean, 9)
                    THEN 'yes' ELSE 'no' END AS agree,
                coalesce(signals, '') AS signals
            FROM worked LEFT JOIN said USING (line) ORDER BY line
        ) TO '{out}' (HEADER)""")


def main():
    name, tests, out, runs = sys.argv[1:5]
    work = {"pandas": by_pandas, "duckdb": by_duckdb}[name]
    __import__(name)
    seconds = []
    for _ in range(int(runs)):
        begun = time.perf_counter()
        work(tests, out)
        seconds.append(time.perf_counter() - begun)
    print(json.dumps({"seconds": seconds}))


if __name__ == "__main__":
    main()
