"""Many clients at once on a laboratory of ten years: how many answers, how late, and whether each entry that
was acknowledged is in the journal.

Usage: load.py PROGRAM [CLIENTS [SECONDS]]. Standard library and wrk (Debian), which runs load.lua.
"""
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile

from measure import lived, served, stopped

# What people look at, the daily pages more often than the others.
PAGES = ["/"] * 3 + ["/samples"] * 2 + ["/results"] + ["/equipment"] * 2 + [
    "/due", "/equipment/MILL-1", "/equipment/BAL-1", "/control/RA-2/MILL-1", "/results/L26-001",
    "/results/L36-064", "/samples/S26-014", "/samples/S46-014", "/samples/new", "/methods",
]
SEARCHES = ["/find?q=S36-014", "/find?q=granite", "/find?q=quarry", "/find?q=BAL", "/find?q=nothing+of+the+kind"]
VIEWS = ["/api/v1/samples/S36-014", "/api/v1/results/L36-064", "/api/v1/equipment", "/api/v1/readiness", "/api/v1/facts?after=10500", "/api/v1/control-charts/RA-2/MILL-1"]
# A client waits so long; what comes later counts as late.
PATIENCE_SECONDS = 10


def load(program, folder, clients, seconds):
    """Runs the clients on a laboratory of ten years in `folder`; what came of it."""
    laboratory = f"{folder}/ten-years"
    before = lived(laboratory)
    made = subprocess.run(
        [program, "token", "new", "--dir", laboratory, "--by", "IK", "--person", "IK", "--name", "load",
         "--scope", "read", "--json"], capture_output=True, text=True, check=True)
    _, server, address = served(laboratory)
    try:
        told = subprocess.run(
            ["wrk", "-t2", f"-c{clients}", f"-d{seconds}s", f"--timeout={PATIENCE_SECONDS}s",
             "-s", str(pathlib.Path(__file__).with_name("load.lua")), f"http://{address}"],
            capture_output=True, text=True, check=True,
            env=dict(os.environ, LOAD_TOKEN=json.loads(made.stdout)["secret"], LOAD_ORIGIN=f"http://{address}",
                     LOAD_PAGES=" ".join(PAGES), LOAD_SEARCHES=" ".join(SEARCHES), LOAD_VIEWS=" ".join(VIEWS)))
    finally:
        stopped(server)
    measured = json.loads(re.search(r"^LOAD (.*)$", told.stdout, re.M)[1])
    verified = json.loads(subprocess.run(
        [program, "journal", "verify", "--dir", laboratory, "--json"], capture_output=True, text=True).stdout)
    measured.update(clients=clients, intact=verified["intact"], entries=verified["facts"] - before)
    statuses = measured["statuses"]
    # A thing that is found leads on, by 303.
    measured["errors"] = measured["lines"] + measured["late"] + sum(
        count for status, count in statuses.items() if status not in ("200", "303"))
    return measured


def main():
    program, clients, seconds = sys.argv[1], int((sys.argv[2:3] or [200])[0]), int((sys.argv[3:4] or [60])[0])
    with tempfile.TemporaryDirectory() as folder:
        measured = load(program, folder, clients, seconds)
    rate = measured["answers"] / measured["seconds"]
    print(f"{clients} clients for {seconds} s: {measured['answers']:,} answers, {rate:,.0f} a second")
    print(f"errors {measured['errors']} (lines {measured['lines']}, later than {PATIENCE_SECONDS} s "
          f"{measured['late']}, statuses {measured['statuses']})")
    print(f"median {measured['median_ms']:.1f} ms, 90 of 100 {measured['p90_ms']:.1f} ms, "
          f"99 of 100 {measured['p99_ms']:.1f} ms (wanted: under 100 ms), worst {measured['worst_ms']:.1f} ms")
    print(f"entries acknowledged: {measured['acknowledged']:,}, in the journal: {measured['entries']:,}; "
          f"it {'holds' if measured['intact'] else 'IS BROKEN'}")
    # An entry whose answer was still on its way at the end stands in the journal, too.
    lost = not 0 < measured["acknowledged"] <= measured["entries"]
    if measured["errors"] or not measured["intact"] or lost:
        sys.exit(1)


if __name__ == "__main__":
    main()
