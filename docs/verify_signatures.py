"""python3 verify_signatures.py EXPORT SIGNATURES [KEY]: how far is the journal signed, by which keys?

EXPORT is a journal that verify_journal.py finds intact, KEY a public key that was handed over: 64 digits.
Ed25519 as in RFC 8032, section 5.1, with nothing but the standard library."""
import hashlib, json, sys
P, L = 2**255 - 19, 2**252 + 27742317777372353535851937790883648493
D = -121665 * pow(121666, -1, P) % P
def check(right, what):
    if not right: raise ValueError(what)
def add(a, b):
    A, B = (a[1] - a[0]) * (b[1] - b[0]), (a[1] + a[0]) * (b[1] + b[0])
    C, E = 2 * a[3] * b[3] * D, 2 * a[2] * b[2]
    e, f, g, h = B - A, E - C, E + C, B + A
    return e * f % P, g * h % P, f * g % P, e * h % P
def times(n, a):
    sum = (0, 1, 1, 0)
    while n:
        sum, a, n = add(sum, a) if n & 1 else sum, add(a, a), n >> 1
    return sum
def point(text):
    y = int.from_bytes(text, "little")
    sign, y = y >> 255, y & (1 << 255) - 1
    square = (y * y - 1) * pow(D * y * y + 1, -1, P) % P
    x = pow(square, (P + 3) // 8, P)
    if (x * x - square) % P: x = x * pow(2, (P - 1) // 4, P) % P
    check(y < P and (x * x - square) % P == 0, "no point of the curve")
    if x & 1 != sign: x = P - x
    return x, y, 1, x * y % P
BASE = point(bytes.fromhex("58" + 31 * "66"))
def signed(key, text, signature):
    R, s = signature[:32], int.from_bytes(signature[32:], "little")
    h = int.from_bytes(hashlib.sha512(R + key + text).digest(), "little") % L
    a, b = times(s, BASE), add(point(R), times(h, point(key)))
    return s < L and len(signature) == 64 and (a[0] * b[2] - b[0] * a[2]) % P == 0 == (a[1] * b[2] - b[1] * a[2]) % P
def canonical(v):
    return json.dumps(v, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode()
def sha256(text):
    return hashlib.sha256(text).hexdigest()
number = 0
try:
    hashes = [json.loads(line)["hash"] for line in open(sys.argv[1], "rb")]
    previous, keys, until, by = sha256(b"stonewear signatures, format 1"), {}, 0, None
    trusted = {sha256(bytes.fromhex(key)) for key in sys.argv[3:]}
    for number, text in enumerate(open(sys.argv[2], "rb"), 1):
        if not text.endswith(b"\n"): break  # a program that was killed left it
        line = json.loads(text)
        check(text == canonical(line) + b"\n" and line["previous"] == previous, "changed, taken out or added")
        previous, signature = sha256(text[:-1]), bytes.fromhex(line.pop("signature"))
        new = bytes.fromhex(line.get("public_key", ""))
        if new and sha256(new) == line["key"]: keys[line["key"]] = new
        check(signed(keys[line["key"]], b"stonewear signature, format 1\n" + canonical(line), signature), "its signature is not of this line")
        if new:
            keys[sha256(new)] = new
            if line["key"] in trusted: trusted.add(sha256(new))
        check(line["laboratory"] == hashes[0], "it is of another laboratory")
        at = line["position"]
        if at <= len(hashes):
            check(hashes[at - 1] == line["head"], f"entry {at} was written anew after it was signed")
            if not sys.argv[3:] or line["key"] in trusted: until, by = max(until, at), line["key"]
    check(by, "nothing is signed by that key")
    print(f"signed: entries 1 to {until} of {len(hashes)}, by {by}")
except Exception as error:
    sys.exit(f"signatures broken at line {number}: {error}")
