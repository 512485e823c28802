"""Measures whole commands of the program: medians of repeated runs, in milliseconds.

Usage: measure.py PROGRAM. Standard library only. Figures belong to the machine they were taken on;
compare ratios from one run.
"""
import http.client
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time

# The program that is measured, where it is not named.
program = sys.argv[1] if len(sys.argv) > 1 else "stonewear"


def run(*arguments, by=None):
    return subprocess.run([by or program, *arguments], capture_output=True, check=True)


def seconds(work, times=1):
    """How long each of several runs takes, s."""
    taken = []
    for _ in range(times):
        begun = time.perf_counter()
        work()
        taken.append(time.perf_counter() - begun)
    return taken


def get(address, path):
    """A page as whoever sits at the bench gets it."""
    connection = http.client.HTTPConnection(address)
    connection.request("GET", path, headers={"Cookie": "stonewear-person=IK"})
    answer = connection.getresponse()
    page = answer.read()
    assert answer.status == 200, f"{path}: {answer.status}"
    return page


def entry(address, number=[0]):
    """A sample received through its form."""
    number[0] += 1
    connection = http.client.HTTPConnection(address)
    form = f"request=receive-sample&source=Invented+quarry+{number[0]}&material=granite&nominal_maximum_mm=19.0"
    connection.request("POST", "/samples/new", form, {
        "Cookie": "stonewear-person=IK", "Origin": f"http://{address}", "Stonewear-Sent": "1",
        "Content-Type": "application/x-www-form-urlencoded"})
    answer = connection.getresponse()
    answer.read()
    assert answer.getheader("stonewear-outcome") == "recorded", f"an entry was refused: {answer.status}"


def median(times, work):
    taken = []
    for _ in range(times):
        begun = time.perf_counter()
        work()
        taken.append((time.perf_counter() - begun) * 1000)
    return statistics.median(taken), max(taken)


def show(what, wanted, measured):
    middle, worst = measured
    print(f"{what:58} {middle:9.1f} ms median {worst:9.1f} ms worst   (wanted: {wanted})")


def served(directory, command="serve", program=program):
    """Starts the program and waits until its page answers; the time that this took, and how to stop it."""
    begun = time.perf_counter()
    server = subprocess.Popen(
        [program, command, "--dir", directory, "--listen", "127.0.0.1:0"], stdout=subprocess.PIPE, text=True
    )
    address = server.stdout.readline().split("http://")[1].split("/")[0]
    connection = http.client.HTTPConnection(address)
    connection.request("GET", "/")
    assert connection.getresponse().read()
    taken = (time.perf_counter() - begun) * 1000
    return taken, server, address


def stopped(server):
    """Asks a served program to stop, and waits until it has."""
    server.terminate()
    server.wait()
    server.stdout.close()


def killed(server):
    """Ends what cannot be asked."""
    server.kill()
    server.wait()
    server.stdout.close()


def grown(directory, facts):
    """A journal of this many facts: a demo laboratory with many more samples received by command would
    take minutes, so the entries are chained here, by the published format, and appended to the file."""
    import sqlite3

    run("demo", "--dir", directory, "--found-only")
    store = sqlite3.connect(os.path.join(directory, "journal.sqlite"))
    position, head = store.execute("SELECT position, hash FROM head").fetchone()
    previous = head.hex()
    sample = json.loads(
        store.execute(
            "SELECT canonical FROM entry WHERE CAST(canonical AS TEXT) LIKE '%\"kind\":\"sample-received\"%' LIMIT 1"
        ).fetchone()[0]
    )
    last = json.loads(store.execute("SELECT canonical FROM entry ORDER BY position DESC LIMIT 1").fetchone()[0])
    entries = (
        dict(at=last["at"], by=sample["by"], fact=dict(sample["fact"], sample=f"S26-{number}"))
        for number in range(position + 1, facts + 1)
    )
    chain(store, position, previous, entries)


def chain(store, position, previous, entries):
    """Appends entries to the journal by its published format."""
    import hashlib

    rows = []
    for entry in entries:
        position += 1
        entry = dict(entry, position=position, previous=previous, request=f"bench-{position}")
        canonical = json.dumps(entry, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()
        digest = hashlib.sha256(canonical).digest()
        rows.append((position, digest, entry["request"], canonical))
        previous = digest.hex()
    store.executemany("INSERT INTO entry (position, hash, request, canonical) VALUES (?, ?, ?, ?)", rows)
    store.execute("UPDATE head SET position = ?, hash = ?", (position, bytes.fromhex(previous)))
    store.commit()
    store.close()
    return position


def lived(directory, decades=4, program=None):
    """The demo laboratory, whose every test and check is done again under new codes: two years become ten."""
    import re
    import sqlite3

    again = {
        "sample-received", "specimen-begun", "mass-weighed", "run-started", "run-stopped", "reading-taken",
        "result-worked-out", "result-released", "sample-linked", "sieving-recorded", "sample-handed-over",
        "check-started", "step-observed", "check-ended",
    }
    run("demo", "--dir", directory, "--found-only", by=program)
    store = sqlite3.connect(os.path.join(directory, "journal.sqlite"))
    position, head = store.execute("SELECT position, hash FROM head").fetchone()
    told = [bytes(row[0]).decode() for row in store.execute("SELECT canonical FROM entry ORDER BY position")]
    at = json.loads(told[-1])["at"]

    def entries():
        for decade in range(1, decades + 1):
            for text in told:
                if json.loads(text)["fact"].get("kind") in again:
                    # S26-014 becomes S36-014, S46-014, and so on.
                    renamed = re.sub(r"\b([CLRS])2(\d-\d)", rf"\g<1>{2 + decade}\2", text)
                    entry = json.loads(renamed)
                    yield dict(at=at, by=entry["by"], fact=entry["fact"])

    return chain(store, position, head.hex(), entries())


def main():
    print(subprocess.run([program, "--version"], capture_output=True, text=True).stdout.strip(), "on", os.cpu_count(), "cores")
    loss = ("loss", "astm-d6928", "--before", "1500", "--after", "1278")
    show("a loss by command, whole process", "under 20 ms", median(30, lambda: run(*loss)))
    with tempfile.TemporaryDirectory() as folder:
        def demo(number=[0]):
            number[0] += 1
            _, server, _ = served(os.path.join(folder, f"demo-{number[0]}"), "demo")
            stopped(server)
        show("the demo founded and served, to the first page", "under 2,000 ms", median(5, demo))
        big = os.path.join(folder, "big")
        grown(big, 100_000)
        def start():
            _, server, _ = served(big)
            stopped(server)
        show("a journal of 100,000 facts opened, to the first page", "under 500 ms", median(5, start))
        verified = json.loads(run("journal", "verify", "--dir", big, "--json").stdout)
        assert verified["intact"] and verified["facts"] == 100_000, verified
        show("the same verified by command", "not set", median(3, lambda: run("journal", "verify", "--dir", big)))
        demo_folder = os.path.join(folder, "demo-1")
        paper = os.path.join(folder, "report.pdf")
        show("a report as PDF by command, whole process", "not set",
             median(5, lambda: run("paper", "L26-001", "--dir", demo_folder, "--out", paper)))
        _, server, address = served(demo_folder)
        connection = http.client.HTTPConnection(address)
        def page(path):
            def get():
                connection.request("GET", path)
                assert connection.getresponse().read()
            return get
        for path in ("/", "/samples", "/results/L26-001", "/equipment/BAL-1"):
            show(f"the page {path}", "under 10 ms at p99", median(200, page(path)))
        stopped(server)


if __name__ == "__main__":
    main()
