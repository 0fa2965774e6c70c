"""Many runs as DataFrames: SI, units in the names, a missing value where a figure does not apply."""

from collections.abc import Mapping

import pandas as pd

from sim.study.many.repeat import Repeated

MEANS_COLUMNS: Mapping[str, str] = {
    "policy": "what starts a wash: the policy's name in the case",
    "stage": "the stage's name; empty for the whole site",
    "kpi": "the figure's key, with its unit",
    "value": "its mean over the runs in which it applies; the share of years for bad_year_share",
    "low": "low end of the 95 % interval of that mean",
    "high": "high end of it",
}
PAIRED_COLUMNS: Mapping[str, str] = {
    "a": "one policy",
    "b": "another",
    "kpi": "the figure's key, with its unit",
    "mean": "mean of a's less b's, run by run on the same water and demand",
    "low": "low end of the 95 % interval of that mean",
    "high": "high end of it",
    "variance": "of the difference between runs",
    "variance_unpaired": "what it would be had every policy its own weather",
}


def means_table(repeated: Repeated) -> pd.DataFrame:
    """The mean of every figure of every policy, site first, then its stages: MEANS_COLUMNS."""
    rows = []
    for policy in repeated.figures.policies:
        for place in repeated.figures.places:
            for key in repeated.figures.keys:
                mean = repeated.mean(policy, key, place)
                rows.append((policy, place, key, *(mean or (None, None, None))))
    return pd.DataFrame(rows, columns=list(MEANS_COLUMNS), dtype=object)


def paired_table(repeated: Repeated) -> pd.DataFrame:
    """Every paired difference: PAIRED_COLUMNS."""
    rows = [(each.a, each.b, each.kpi, *each.difference, each.variance, each.unpaired) for each in repeated.pairs()]
    return pd.DataFrame(rows, columns=list(PAIRED_COLUMNS), dtype=object)


def every_run(repeated: Repeated) -> pd.DataFrame:
    """The site's figures of every run: policy, replicate from 0, and a column for each figure's key."""
    parts = []
    for policy in repeated.figures.policies:
        columns = {key: repeated.values(policy, key) for key in repeated.figures.keys}
        known = {key: values for key, values in columns.items() if (values == values).any()}
        part = pd.DataFrame(known)
        part.insert(0, "replicate", range(repeated.figures.replicates))
        part.insert(0, "policy", policy)
        parts.append(part)
    return pd.concat(parts, ignore_index=True)
