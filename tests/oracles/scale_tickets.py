"""Factors of machines from weighed loads by numpy: least squares of what loads weighed on what each machine logged
in them, weighted with one over the load's logged grain.

usage: scale_tickets.py '{"logged": [[...], ...], "weighed": [...]}'
"""

import json
import sys

import numpy as np

asked = json.loads(sys.argv[1])
logged, weighed = np.array(asked["logged"]), np.array(asked["weighed"])
root = 1 / np.sqrt(logged.sum(axis=1))
columns, right = logged * root[:, None], weighed * root
factors, *_ = np.linalg.lstsq(columns, right, rcond=None)
left = right - columns @ factors
df = len(right) - columns.shape[1]
covariance = (left @ left) / df * np.linalg.inv(columns.T @ columns)
print(json.dumps({"factors": list(factors), "std_errors": list(np.sqrt(np.diag(covariance)))}))
