"""What the parts of `bench/run` share: the programs that are measured, the peers, the figures side by side."""
import csv
import datetime
import json
import math
import os
import pathlib
import platform
import re
import statistics
import subprocess
import sys
import time

ROOT = pathlib.Path(__file__).resolve().parent.parent
PEERS = ROOT / "bench" / "peers"
PACKAGES = ["numpy", "scipy", "pandas", "duckdb", "xlsxwriter"]


class Figure:
    """Repeated measurements of one piece of work."""

    def __init__(self, values, unit):
        self.values, self.unit = list(values), unit

    @property
    def middle(self):
        return statistics.median(self.values)

    def __str__(self):
        text = f"{shown(self.middle)} {self.unit}"
        if len(self.values) > 1:
            low, _, high = statistics.quantiles(self.values, n=4, method="inclusive")
            text += f" (± {(high - low) / 2 / self.middle:.0%}, n = {len(self.values)})"
        return text


def shown(value):
    if value == 0 or not math.isfinite(value):
        return str(value)
    digits = max(0, 2 - math.floor(math.log10(abs(value))))
    return f"{value:,.{min(digits, 6)}f}"


class Bench:
    def __init__(self, folder, is_short):
        self.folder, self.is_short = folder, is_short
        self.target = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
        self.rows, self.growth, self.wrong, self.took = [], [], [], {}
        self.begun = time.monotonic()

    # What is measured.

    def build(self, is_built):
        profile = [] if self.is_short else ["--release"]
        if not is_built:
            subprocess.run(["cargo", "build", "--quiet", "--workspace", "--bins", *profile], cwd=ROOT, check=True)
        folder = self.target / ("debug" if self.is_short else "release")
        self.program, self.worker = folder / "stonewear", folder / "stonewear-bench"
        venv = self.target / "bench-venv"
        self.python = venv / "bin" / "python"
        if not self.python.exists():
            subprocess.run([sys.executable, "-m", "venv", str(venv)], check=True)
        subprocess.run([self.python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", *PACKAGES],
                       check=True)

    def work(self, *arguments):
        """Runs a part of crates/bench; what it prints."""
        done = subprocess.run([self.worker, *map(str, arguments)], capture_output=True, text=True)
        if done.returncode:
            raise RuntimeError(f"stonewear-bench {arguments[0]}: {done.stderr.strip()}")
        return json.loads(done.stdout.splitlines()[-1])

    def peer(self, script, *arguments):
        done = subprocess.run([self.python, PEERS / script, *map(str, arguments)], capture_output=True, text=True)
        if done.returncode:
            raise RuntimeError(f"{script}: {done.stderr.strip()[-2000:]}")
        return json.loads(done.stdout.splitlines()[-1]) if done.stdout.strip() else None

    # What came of it.

    def part(self, name, part):
        begun = time.monotonic()
        print(f"{name} …", flush=True)
        try:
            part(self)
        except Exception as error:
            # One part that fails must not take the figures of the others with it.
            self.wrong.append(f"{name}: {type(error).__name__}: {error}")
            print(f"  FAILED: {error}", flush=True)
        self.took[name] = time.monotonic() - begun

    def row(self, work, ours, peer=None, against=None, wanted="", ratio=None, same=""):
        """Ours beside a peer. The ratio is of throughputs, so that more is better; times are turned over."""
        if ratio is None and against is not None:
            is_time = ours.unit in ("s", "ms", "µs")
            ratio = against.middle / ours.middle if is_time else ours.middle / against.middle
        row = {"work": work, "ours": ours, "peer": peer, "against": against, "ratio": ratio, "wanted": wanted,
               "same": same}
        self.rows.append(row)
        times = f" = {ratio:.2f} times" if ratio is not None else ""
        beside = f" | {peer}: {against}" if peer else ""
        print(f"  {work}: {ours}{beside}{times}" + (f" (wanted: {wanted})" if wanted else "")
              + (f" [{same}]" if same else ""), flush=True)

    def grows(self, what, unit, points):
        """A figure at growing numbers of facts, with the exponent of the power that fits it."""
        logs = [(math.log(facts), math.log(value)) for facts, value in points if value > 0]
        exponent = None
        if len(logs) > 1:
            mean_x, mean_y = (statistics.mean(column) for column in zip(*logs))
            across = sum((x - mean_x) ** 2 for x, _ in logs)
            exponent = sum((x - mean_x) * (y - mean_y) for x, y in logs) / across if across else None
        self.growth.append((what, unit, points, exponent))
        said = ", ".join(f"{facts:,}: {shown(value)} {unit}" for facts, value in points)
        print(f"  {what}: {said}" + ("" if exponent is None else f"; grows with the power {exponent:.2f}"), flush=True)

    def same(self, ours, theirs, tolerance=None):
        """Holds that two tables say the same; in words, how many rows."""
        with open(ours, newline="") as one, open(theirs, newline="") as other:
            mine, given = list(csv.reader(one)), list(csv.reader(other))
        if len(mine) != len(given):
            raise RuntimeError(f"{len(mine)} rows here, {len(given)} there")
        for line, (left, right) in enumerate(zip(mine, given), 1):
            is_same = left == right or tolerance is not None and all(
                a == b or close(a, b, tolerance) for a, b in zip(left, right, strict=True))
            if not is_same:
                raise RuntimeError(f"line {line} differs: {left} here, {right} there")
        return f"same in {len(mine) - 1:,} rows"

    def finish(self, writes):
        if writes and not self.wrong:
            (ROOT / "bench" / "RESULTS.md").write_text(self.results())
        minutes = (time.monotonic() - self.begun) / 60
        print(f"{minutes:.1f} minutes; " + ", ".join(f"{name} {took:.0f} s" for name, took in self.took.items()))
        for wrong in self.wrong:
            print(f"WRONG: {wrong}")
        return self.wrong

    def results(self):
        lines = [
            "# Results", "",
            "Written by `bench/run`: every figure of one run on one machine. Figures of other machines are other figures; "
            "ratios compare. A ratio is that of throughputs: above 1 ours is faster. Figures are medians; ± is half of what "
            "the middle half of the repeated measurements spans.", "",
            f"{datetime.date.today()}, {machine()}", "",
            f"{', '.join(versions(self.python))}", "",
            "| work | ours | peer, or limit | theirs | ratio | wanted | outputs |",
            "| --- | --- | --- | --- | --- | --- | --- |",
        ]
        for row in self.rows:
            ratio = "" if row["ratio"] is None else f"{row['ratio']:.2f}"
            cells = [row["work"], row["ours"], row["peer"] or "", row["against"] or "", ratio, row["wanted"], row["same"]]
            lines.append("| " + " | ".join(str(cell) for cell in cells) + " |")
        if self.growth:
            sizes = sorted({facts for _, _, points, _ in self.growth for facts, _ in points})
            lines += ["", "How each grows with the number of facts; the exponent is of the power that fits: 0 is flat, 1 in "
                      "proportion.", "",
                      "| | " + " | ".join(f"{size:,} facts" for size in sizes) + " | exponent |",
                      "| --- |" + " --- |" * (len(sizes) + 1)]
            for what, unit, points, exponent in self.growth:
                by_size = dict(points)
                cells = [f"{shown(by_size[size])} {unit}" if size in by_size else "" for size in sizes]
                fitted = "" if exponent is None else f"{exponent:.2f}"
                lines.append(f"| {what} | " + " | ".join(cells) + f" | {fitted} |")
        return "\n".join(lines) + "\n"


def close(left, right, tolerance):
    try:
        return abs(float(left) - float(right)) <= tolerance * max(1, abs(float(left)))
    except ValueError:
        return False


def machine():
    text = pathlib.Path("/proc/cpuinfo").read_text() if pathlib.Path("/proc/cpuinfo").exists() else ""
    model = re.search(r"model name\s*:\s*(.*)", text)
    memory = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 2**30
    load = ", ".join(f"{one:.1f}" for one in os.getloadavg())
    return (f"{os.cpu_count()} cores ({model[1] if model else platform.machine()}), {memory:.0f} GiB, "
            f"{platform.system()} {platform.release()}; load at the end {load}")


def versions(python):
    def first(*command):
        try:
            done = subprocess.run(command, capture_output=True, text=True)
            return (done.stdout or done.stderr).strip().splitlines()[0]
        except (OSError, IndexError):
            return f"{command[0]}: unknown"
    listed = subprocess.run([python, "-m", "pip", "list", "--format=json"], capture_output=True, text=True).stdout
    of = {one["name"].lower(): one["version"] for one in json.loads(listed)}
    found = [f"{name} {of.get(name, '?')}" for name in PACKAGES]
    return [first("rustc", "--version"), first("python3", "--version"), *found, first("ssconvert", "--version"),
            first("wrk", "--version").split(" Copyright")[0]]
