"""A receiver of webhooks that checks each message with the library of Standard Webhooks."""

import http.server
import json
import subprocess
import sys
import threading
import urllib.request

from standardwebhooks import Webhook

program, folder, url, token = sys.argv[1:]
told = []
is_told = threading.Event()


class Receiver(http.server.BaseHTTPRequestHandler):
    def do_POST(self):
        body = self.rfile.read(int(self.headers["content-length"]))
        told.append((dict(self.headers.items()), body))
        self.send_response(204)
        self.end_headers()
        if len(told) == 2:
            is_told.set()

    def log_message(self, *_):
        pass


receiver = http.server.HTTPServer(("127.0.0.1", 0), Receiver)
threading.Thread(target=receiver.serve_forever, daemon=True).start()
address = f"http://127.0.0.1:{receiver.server_port}/"


def stonewear(*arguments):
    said = subprocess.run(
        [program, *arguments, "--dir", folder, "--json"], check=True, capture_output=True
    )
    return json.loads(said.stdout)


added = stonewear(
    "webhook", "add", "--by", "IK", address, "--allow-private", "--facts", "sample-received"
)
for bench in (1, 2):
    sample = {"source": f"Invented quarry, bench {bench}", "material": "crushed granite", "nominal_maximum_mm": "19.0"}
    request = urllib.request.Request(
        f"{url}/api/v1/requests/receive-sample",
        json.dumps(sample).encode(),
        {"Authorization": f"Bearer {token}", "Content-Type": "application/json"},
    )
    urllib.request.urlopen(request).read()
assert is_told.wait(20), "both facts are told in time"
judge = Webhook(added["secret"])
sources = [judge.verify(body, {k.lower(): v for k, v in headers.items()})["data"]["fact"]["source"] for headers, body in told]
assert sources == ["Invented quarry, bench 1", "Invented quarry, bench 2"], sources
try:
    judge.verify(told[0][1] + b" ", {k.lower(): v for k, v in told[0][0].items()})
    sys.exit("a changed message was taken")
except Exception as error:
    assert "signature" in str(error).lower(), error
stonewear("webhook", "remove", "--by", "IK", added["webhook"]["id"])
print("webhooks are signed as Standard Webhooks says, in order")
