"""A bucket of an S3 server on this machine (moto), filled and emptied with Amazon's own library (boto3).

    bucket.py FOLDER

Starts a server on a free port of 127.0.0.1, puts every file below FOLDER into the bucket `farm` under the same
path, and prints {"endpoint": …}. Each line read from standard input is a folder: every file of the bucket is copied
into it, and the number of files printed. Ends with its input.
"""

import json
import logging
import sys
from pathlib import Path

import boto3
from moto.server import ThreadedMotoServer

logging.getLogger("werkzeug").setLevel(logging.ERROR)
server = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
server.start()
_, port = server.get_host_and_port()
endpoint = f"http://127.0.0.1:{port}"
client = boto3.client(
    "s3",
    endpoint_url=endpoint,
    region_name="us-east-1",
    aws_access_key_id="invented",
    aws_secret_access_key="invented",
)
client.create_bucket(Bucket="farm")
folder = Path(sys.argv[1])
for path in sorted(path for path in folder.rglob("*") if path.is_file()):
    client.upload_file(str(path), "farm", path.relative_to(folder).as_posix())
print(json.dumps({"endpoint": endpoint}), flush=True)

for line in sys.stdin:
    target = Path(line.strip())
    files = 0
    for page in client.get_paginator("list_objects_v2").paginate(Bucket="farm"):
        for entry in page.get("Contents", []):
            place = target / entry["Key"]
            place.parent.mkdir(parents=True, exist_ok=True)
            client.download_file("farm", entry["Key"], str(place))
            files += 1
    print(files, flush=True)
server.stop()
