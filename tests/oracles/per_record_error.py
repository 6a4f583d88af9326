"""Error of single records: per_record_error.py CLEANED.csv TRUTH.parquet [BASELINE.parquet]

Root mean squared difference, kg/ha, between the yields of kept records and the true yield of the
ground under each record; the same for the records that the baseline script kept. Reads with pandas.
"""
import json
import sys

import numpy as np
import pandas as pd

cleaned = pd.read_csv(sys.argv[1])
truth = pd.read_parquet(sys.argv[2]).true_yield_kg_ha.to_numpy()
kept = (cleaned.status == "kept").to_numpy()
row = cleaned.record.to_numpy() - 1


def rmse(found, true):
    return float(np.sqrt(np.mean((found - true) ** 2)))


answer = {
    "records": len(cleaned),
    "truth": len(truth),
    "kept": int(kept.sum()),
    "rmse_kg_ha": rmse(cleaned.yield_kg_ha.to_numpy()[kept], truth[row[kept]]),
}
if len(sys.argv) > 3:
    baseline = pd.read_parquet(sys.argv[3])
    answer["baseline_kept"] = len(baseline)
    answer["baseline_rmse_kg_ha"] = rmse(
        baseline.yield_kg_ha.to_numpy(), truth[baseline.row.to_numpy()]
    )
print(json.dumps(answer))
