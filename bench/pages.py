"""Pages of a laboratory of ten years under 64 connections, by wrk: the time within which 99 of 100 answers
came, and how many came a second. Before them its stylesheet, a file that is
ready in memory: the limit that machine and server set.

Usage: pages.py PROGRAM. Standard library and wrk (Debian). Figures belong to the machine they were taken on;
compare ratios from one run.
"""
import re
import subprocess
import sys
import tempfile

from measure import lived, served, stopped

PAGES = ["/assets/stonewear.css", "/", "/samples", "/results", "/equipment", "/equipment/MILL-1", "/control/RA-2/MILL-1", "/results/L26-064"]


def milliseconds(text):
    number, unit = re.fullmatch(r"([\d.]+)(us|ms|s|m)", text).groups()
    return float(number) * {"us": 0.001, "ms": 1, "s": 1000, "m": 60_000}[unit]


with tempfile.TemporaryDirectory() as directory:
    facts = lived(f"{directory}/ten-years")
    taken, server, address = served(f"{directory}/ten-years")
    try:
        print(f"first page after {taken:.0f} ms with {facts} facts")
        for connections in (1, 64):
            print(f"{connections} connections")
            for page in PAGES:
                said = subprocess.run(
                    ["wrk", "-t1", f"-c{connections}", "-d5s", "--latency", f"http://{address}{page}"],
                    capture_output=True, text=True, check=True,
                ).stdout
                half = milliseconds(re.search(r"50%\s+([\d.]+[a-z]+)", said)[1])
                worst = milliseconds(re.search(r"99%\s+([\d.]+[a-z]+)", said)[1])
                rate = float(re.search(r"Requests/sec:\s+([\d.]+)", said)[1])
                wrong = re.search(r"Non-2xx.*", said)
                print(f"  {page:24} {half:8.2f} ms median {worst:8.2f} ms in 99 of 100 {rate:9.0f} a second {wrong[0] if wrong else ''}")
    finally:
        stopped(server)
