"""python3 verify_journal.py EXPORT [HASH]: is it what was written, and does it end with HASH?"""
import hashlib, json, sys
def check(right, what):
    if not right: raise ValueError(what)
def canonical(v):
    if isinstance(v, dict):
        return "{%s}" % ",".join(f"{canonical(k)}:{canonical(v[k])}" for k in sorted(v, key=lambda k: k.encode("utf-16-be")))
    return "[%s]" % ",".join(map(canonical, v)) if isinstance(v, list) else json.dumps(v, ensure_ascii=False)
refuse = lambda text: check(False, f"{text} is no whole number")
number, previous = 0, hashlib.sha256(b"stonewear journal, format 1").hexdigest()
try:
    for number, line in enumerate(open(sys.argv[1], "rb"), 1):
        entry = json.loads(line, parse_float=refuse, parse_constant=refuse)
        check(line == (canonical(entry) + "\n").encode(), "not in canonical form")
        stated, before, previous = entry.pop("hash"), previous, hashlib.sha256(canonical(entry).encode()).hexdigest()
        check((stated, entry["previous"], entry["position"]) == (previous, before, number), "changed or out of place")
    check(sys.argv[2:] in ([], [previous]), "the end is not the one that was noted")
    print(f"intact: {number} entries, {previous}")
except Exception as error:
    sys.exit(f"broken at line {number}: {error}")
