"""Takes posts, checks each signature with Python's own hmac, and writes down what came.

Arguments: the secret, a file for the records (a JSON object a line), and answers in turn, such as
"503 Retry-After:120"; after the last one it answers 204. Prints its port.
"""

import base64
import hashlib
import hmac
import http.server
import json
import sys
import time

secret, records, *answers = sys.argv[1:]
key = base64.b64decode(secret.removeprefix("whsec_"))


class Receiver(http.server.BaseHTTPRequestHandler):
    def do_POST(self):
        body = self.rfile.read(int(self.headers["content-length"]))
        ident, stamp = self.headers["webhook-id"], self.headers["webhook-timestamp"]
        signed = f"{ident}.{stamp}.".encode() + body
        made = base64.b64encode(hmac.new(key, signed, hashlib.sha256).digest()).decode()
        version, _, given = (self.headers["webhook-signature"] or "").partition(",")
        record = {
            "verified": version == "v1" and hmac.compare_digest(made, given),
            "fresh": abs(time.time() - int(stamp)) < 300,
            "id": ident,
            "path": self.path,
            "type": self.headers["content-type"],
            "body": body.decode(),
        }
        with open(records, "a") as file:
            file.write(json.dumps(record) + "\n")
        status, *fields = (answers.pop(0) if answers else "204").split(" ")
        self.send_response(int(status))
        for field in fields:
            self.send_header(*field.split(":", 1))
        self.send_header("content-length", "0")
        self.end_headers()

    def log_message(self, *_):
        pass


server = http.server.HTTPServer(("127.0.0.1", 0), Receiver)
print(server.server_port, flush=True)
server.serve_forever()
