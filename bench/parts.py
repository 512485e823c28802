"""The pieces of work that `bench/run` measures, each beside who would do it otherwise or the least that it takes."""
import os
import pathlib
import re
import shutil
import subprocess
import time

import measure
from harness import PEERS, Figure

# measure.py takes the program from its command line when it runs alone.
WRK_SECONDS = 5


def recompute(bench):
    """Every loss, precision check and control signal: one laboratory, and a network of them."""
    tests = 1_000 if bench.is_short else 10_000
    year, one, network = (bench.folder / name for name in ("year.csv", "one.csv", "network.csv"))
    bench.work("tests", "--laboratories", 1, "--tests", tests // 10, year)
    bench.work("tests", "--laboratories", 1, "--tests", tests, one)
    laboratories = 4 if bench.is_short else 200
    bench.work("tests", "--laboratories", laboratories, "--tests", tests // 2, network)
    sizes = [(year, f"{tests // 10:,} tests, a year of one laboratory", 5),
             (one, f"{tests:,} tests, ten years of one laboratory", 5),
             (network, f"{laboratories * tests // 2:,} tests, ten years of {laboratories} laboratories", 3)]
    for inputs, what, runs in sizes:
        ours = bench.folder / f"ours-{inputs.name}"
        measured = Figure(bench.work("recompute", inputs, ours, "--runs", runs)["seconds"], "s")
        for name in ("pandas", "duckdb"):
            theirs = bench.folder / f"{name}-{inputs.name}"
            against = Figure(bench.peer("recompute.py", name, inputs, theirs, runs)["seconds"], "s")
            bench.row(f"losses, precision checks and control signals of {what}", measured, name, against,
                      "at least 20" if name == "pandas" else "", same=bench.same(ours, theirs))
        if inputs == one:
            spreadsheet(bench, inputs, ours, measured, what)


def spreadsheet(bench, inputs, ours, measured, what):
    book, given, out = (bench.folder / name for name in ("book.xlsx", "given.csv", "sheet.csv"))
    subprocess.run([bench.python, PEERS / "workbook.py", "write", inputs, book], check=True)
    seconds = []
    for _ in range(1 if bench.is_short else 3):
        seconds += measure.seconds(lambda: subprocess.run(
            ["ssconvert", "--recalc", "-T", "Gnumeric_stf:stf_csv", book, given], capture_output=True, check=True))
    subprocess.run([bench.python, PEERS / "workbook.py", "read", given, out], check=True)
    bench.row(f"losses, precision checks and control signals of {what}", measured, "spreadsheet (Gnumeric)",
              Figure(seconds, "s"), "at least 200", same=bench.same(ours, out))


def between(bench):
    """Precision and consistency of a round between laboratories."""
    materials = 50 if bench.is_short else 1_000
    inputs, ours, theirs = (bench.folder / name for name in ("round.csv", "between-ours.csv", "between-numpy.csv"))
    bench.work("round", "--materials", materials, inputs)
    measured = Figure(bench.work("between", inputs, ours, "--runs", 5)["seconds"], "s")
    against = Figure(bench.peer("between.py", inputs, theirs, 5)["seconds"], "s")
    bench.row(f"interlaboratory analysis, {materials:,} materials × 30 laboratories × 2", measured, "numpy and scipy",
              against, same=bench.same(ours, theirs, tolerance=1e-8))


def monte_carlo(bench):
    """Uncertainty of a loss by ten million trials."""
    if bench.is_short:
        # It is measured with the optimised program alone.
        bench.work("trials", "--trials", 10_000, "--runs", 1)
        return
    ours = bench.work("trials")
    theirs = subprocess.run([bench.python, bench_folder() / "monte_carlo_peer.py"], capture_output=True, text=True,
                            check=True).stdout.split("numpy, 10000000 trials:")[1]
    median = float(re.search(r"median ([\d.]+) s", theirs)[1])
    interval = [float(end) for end in re.search(r"shortest 95 % ([\d.]+) to ([\d.]+)", theirs).groups()]
    # Other draws, the same distribution: the ends of the interval agree to what ten million trials can tell.
    if any(abs(here - there) > 0.005 for here, there in zip(ours["interval"], interval)):
        raise RuntimeError(f"the intervals differ: {ours['interval']} here, {interval} there")
    bench.row("Monte Carlo of a loss, 10,000,000 trials", Figure(ours["seconds"], "s"), "numpy", Figure([median], "s"),
              "at least 8", same="intervals agree within 0.005 %")


def laboratory(bench, facts):
    folder = bench.folder / f"facts-{facts}"
    if not folder.exists():
        bench.work("laboratory", "--facts", facts, folder)
    return folder


def append(bench):
    """Facts appended one by one, each on the disk before the next."""
    facts = 100 if bench.is_short else 2_000
    disk = bench.folder / "append"
    disk.mkdir()
    found = bench.work("append", "--facts", facts, laboratory(bench, 10_000 if not bench.is_short else 1_000), disk)
    bench.row("facts appended one by one, durably", Figure(found["ours_a_second"], "a second"),
              "bare inserts of the same bytes", Figure(found["bare_a_second"], "a second"), "at least 0.8")
    bench.single = Figure(found["ours_a_second"], "a second")


def writers(bench):
    """64 writers at once over the page's own forms."""
    folder = bench.folder / "writers"
    shutil.copytree(laboratory(bench, 1_000), folder)
    _, server, address = measure.served(str(folder), program=bench.program)
    script = bench.folder / "entries.lua"
    script.write_text(ENTRIES)
    try:
        rates = []
        for _ in range(1 if bench.is_short else 3):
            told = wrk(f"http://{address}/", 64, "-s", str(script), seconds=2 if bench.is_short else WRK_SECONDS,
                       environment={"LOAD_ORIGIN": f"http://{address}"})
            if told["wrong"]:
                raise RuntimeError(f"entries were refused: {told['wrong']}")
            rates.append(told["rate"])
    finally:
        measure.stopped(server)
    single = getattr(bench, "single", None)
    bench.row("entries of 64 writers at once, through forms", Figure(rates, "a second"),
              "ours, one by one" if single else None, single, "at least 10" if single else "")


ENTRIES = """
local form = { ["Cookie"] = "stonewear-person=IK", ["Origin"] = os.getenv("LOAD_ORIGIN"),
  ["Content-Type"] = "application/x-www-form-urlencoded", ["Stonewear-Sent"] = "1" }
local number, count = 0, 0
function setup(thread) number = number + 1; thread:set("mine", number) end
function request()
  count = count + 1
  return wrk.format("POST", "/samples/new", form, string.format(
    "request=receive-sample&source=Invented+quarry+%d-%d&material=granite&nominal_maximum_mm=19.0", mine, count))
end
"""


def wrk(url, connections, *options, seconds=WRK_SECONDS, environment=None):
    done = subprocess.run(["wrk", "-t2" if connections > 1 else "-t1", f"-c{connections}", f"-d{seconds}s", "--latency",
                           *options, url], capture_output=True, text=True, check=True,
                          env=dict(os.environ, **(environment or {}))).stdout
    wrong = re.search(r"Non-2xx.*|Socket errors.*", done)
    return {"rate": float(re.search(r"Requests/sec:\s+([\d.]+)", done)[1]), "wrong": wrong[0] if wrong else None}


def replay(bench):
    """A laboratory opened: every entry read, checked, folded."""
    facts = 1_000 if bench.is_short else 100_000
    found = bench.work("replay", laboratory(bench, facts), "--runs", 1 if bench.is_short else 5)
    rate = lambda seconds: Figure([found["facts"] / one for one in seconds], "facts a second")
    ours = rate(found["seconds"])
    what = f"a journal of {found['facts']:,} facts ({found['bytes'] / 2**20:.0f} MiB) opened"
    bench.row(what, ours, "the same bytes parsed to nothing", rate(found["parsed_to_nothing"]),
              "at least 0.5, and 1,000,000 facts a second")
    bench.row(what, ours, "the same bytes parsed to a tree", rate(found["parsed_to_a_tree"]))


def pages(bench):
    """Served pages, and a text of the same size that is ready in memory."""
    folder = ten_years(bench)
    _, server, address = measure.served(str(folder), program=bench.program)
    try:
        for path in ("/", "/samples", "/results", "/equipment", "/control/RA-2/MILL-1", "/results/L26-064"):
            size = len(measure.get(address, path))
            limit = subprocess.Popen([bench.worker, "text", "--bytes", str(size)], stdout=subprocess.PIPE, text=True)
            try:
                at = limit.stdout.readline().split("http://")[1].split("/")[0]
                ours, bare = [], []
                for _ in range(1 if bench.is_short else 3):
                    one = wrk(f"http://{address}{path}", 64, seconds=1 if bench.is_short else 3)
                    if one["wrong"]:
                        raise RuntimeError(f"{path}: {one['wrong']}")
                    ours.append(one["rate"])
                    bare.append(wrk(f"http://{at}/", 64, seconds=1 if bench.is_short else 3)["rate"])
            finally:
                measure.killed(limit)
            bench.row(f"the page {path} of ten years, 64 connections", Figure(ours, "a second"),
                      f"a text of {size / 1024:.0f} KiB by bare axum", Figure(bare, "a second"), "at least 0.4")
    finally:
        measure.stopped(server)


def queries(bench):
    """The questions of every day in a laboratory of many facts."""
    found = bench.work("queries", laboratory(bench, 1_000 if bench.is_short else 100_000))
    for name, what in (("doubt", f"{found['in_doubt']} results that stand on a balance since an instant, with the effect"),
                       ("evidence", "the evidence of one result"), ("readiness", "readiness of everything")):
        figure = Figure([seconds * 1e6 for seconds in found[name]], "µs")
        bench.row(f"{what}, {found['facts']:,} facts", figure)


def start(bench):
    """From the start of the program to its first page, and what it holds then."""
    facts = 1_000 if bench.is_short else 100_000
    folder = laboratory(bench, facts)
    taken = []
    for _ in range(1 if bench.is_short else 5):
        milliseconds, server, _ = measure.served(str(folder), program=bench.program)
        taken.append(milliseconds)
        measure.stopped(server)
    bench.row(f"start to first page, {facts:,} facts", Figure(taken, "ms"), wanted="at most 150 ms")
    for what, of in ((f"{facts:,} facts", folder), ("ten years", ten_years(bench))):
        _, server, _ = measure.served(str(of), program=bench.program)
        status = pathlib.Path(f"/proc/{server.pid}/status").read_text()
        measure.stopped(server)
        held = int(re.search(r"VmRSS:\s+(\d+)", status)[1]) / 1024
        bench.row(f"memory at rest, {what}", Figure([held], "MiB"), wanted="at most 120 MiB" if of is folder else "")
    bench.row("size of the program", Figure([bench.program.stat().st_size / 2**20], "MiB"))


def papers(bench):
    """Test reports of ten years typeset by one command, its start and the reading of the journal included."""
    if bench.is_short:
        return
    folder = ten_years(bench)
    rates = []
    for number in range(3):
        out = bench.folder / f"papers-{number}"
        begun = time.monotonic()
        subprocess.run([bench.program, "paper", "all", "--dir", folder, "--out", out], capture_output=True, check=True)
        rates.append(len(list(out.glob("**/*.pdf"))) / (time.monotonic() - begun))
    bench.row("test reports of ten years, one command", Figure(rates, "a second"), wanted="at least 10 a second")


def ten_years(bench):
    folder = bench.folder / "ten-years"
    if not folder.exists():
        measure.lived(str(folder), program=bench.program)
    return folder


def growth(bench):
    """Each figure at growing numbers of facts."""
    # The largest is some decades of six benches.
    sizes = [500, 1_000] if bench.is_short else [1_000, 10_000, 100_000, 1_000_000]
    figures = {}
    for facts in sizes:
        folder = laboratory(bench, facts)
        opened = bench.work("replay", folder, "--runs", 1 if facts > 100_000 else 3)
        held = opened["facts"]
        asked = bench.work("queries", folder)
        middle = lambda values: Figure(values, "").middle
        figures.setdefault(("opening", "s"), []).append((facts, middle(opened["seconds"])))
        for name in ("doubt", "evidence", "readiness"):
            figures.setdefault((name, "µs"), []).append((facts, middle(asked[name]) * 1e6))
        first, server, address = measure.served(str(folder), program=bench.program)
        try:
            figures.setdefault(("start to first page", "ms"), []).append((facts, first))
            for path in ("/", "/samples", "/results", "/equipment"):
                taken = measure.seconds(lambda: measure.get(address, path), 5)
                figures.setdefault((f"the page {path}", "ms"), []).append((facts, middle(taken) * 1e3))
            entries = measure.seconds(lambda: measure.entry(address), 20)
            figures.setdefault(("an entry through its form", "ms"), []).append((facts, middle(entries) * 1e3))
        finally:
            measure.stopped(server)
        if abs(held - facts) > 0.2 * facts:
            raise RuntimeError(f"{held:,} facts were made, not {facts:,}")
    for (what, unit), points in figures.items():
        bench.grows(what, unit, points)


def bench_folder():
    return pathlib.Path(__file__).resolve().parent


ALL = {
    "recompute": recompute, "between": between, "monte-carlo": monte_carlo, "append": append, "writers": writers,
    "replay": replay, "pages": pages, "queries": queries, "start": start, "papers": papers, "growth": growth,
}
