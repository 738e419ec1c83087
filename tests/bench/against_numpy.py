#!/usr/bin/env python3
"""Kubelka-Munk stack to CIELAB to CIEDE2000: this program against numpy with colour-science.

    python3 tests/bench/against_numpy.py

Both sides work through the same 10,368 stacks of three layers at 81 bands, on one core each, one
after the other; medians of several rounds and their ratio are printed. numpy and colour-science come
from PyPI into a virtual environment of their own under target/. The differences of both sides
must agree to 0.001, otherwise the script fails.
"""

import json
import os
import statistics
import subprocess
import sys
import time
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
ENVIRONMENT = ROOT / "target" / "numpy-environment"
PACKAGES = ["numpy==2.3.5", "colour-science==0.4.7"]
ROUNDS = 7


def in_environment():
    """Runs this script again with the environment's interpreter, made when it is missing."""
    python = ENVIRONMENT / "bin" / "python"
    if not (ENVIRONMENT / "ready").exists():
        venv.create(ENVIRONMENT, with_pip=True, clear=True)
        subprocess.run([python, "-m", "pip", "install", "-q", *PACKAGES], check=True)
        (ENVIRONMENT / "ready").touch()
    one_core = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1", "MKL_NUM_THREADS": "1"}
    os.execve(python, [str(python), __file__, "--inside"], os.environ | one_core)


def stacks():
    """K and S of every layer of every stack, thicknesses in mm, ceramics outermost."""
    import numpy as np

    nm = np.arange(380.0, 781.0, 5.0)

    def medium(k, tail, s, power):
        return k * np.exp((450.0 - nm) / tail), s * (nm / 550.0) ** -power

    ceramics = [medium(0.05 + 0.004 * i, 60.0, 0.8 + 0.02 * i, 1.0) for i in range(144)]
    cements = [medium(0.2 + 0.1 * i, 80.0, 0.5 + 2.0 * i, 0.8) for i in range(6)]
    tooth = medium(0.3, 90.0, 6.0, 1.2)
    thicknesses = 0.3 + 0.15 * np.arange(12)
    i, j, k = (x.ravel() for x in np.meshgrid(range(144), range(6), range(12), indexing="ij"))
    ceramics, cements = np.array(ceramics), np.array(cements)
    layers = [
        (ceramics[i, 0], ceramics[i, 1], thicknesses[k][:, None]),
        (cements[j, 0], cements[j, 1], np.full((len(i), 1), 0.05)),
        (np.broadcast_to(tooth[0], (len(i), 81)), np.broadcast_to(tooth[1], (len(i), 81)), 3.0),
    ]
    return nm, layers


def weights(nm):
    """Weights to XYZ from this program's own tables, and the white they sum to."""
    import csv

    import numpy as np

    path = ROOT / "src" / "colorimetry" / "tables" / "cie_tables.csv"
    with open(path, newline="") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    columns = {name: np.array([float(row[name]) for row in rows]) for name in rows[0]}
    first = next(iter(columns))
    assert np.array_equal(columns[first], nm), "the table's bands are not those of the stacks"
    light = columns["D65"]
    functions = np.stack([columns[f"{c}2"] for c in "xyz"], axis=1)
    w = light[:, None] * functions
    w *= 100.0 / w[:, 1].sum()
    return w, w.sum(axis=0)


def differences(layers, w, white, chunk):
    """ΔE00 of every stack from one colour; chunks keep intermediate arrays in the cache."""
    import colour
    import numpy as np

    n = 1.5
    k1 = ((n - 1.0) / (n + 1.0)) ** 2
    k2 = INTERNAL_DIFFUSE
    reference = np.array([72.0, 1.0, 17.0])
    xy = colour.XYZ_to_xy(white)
    found = []
    for start in range(0, len(layers[0][0]), chunk):
        part = slice(start, start + chunk)
        r = 0.03
        for k, s, x in reversed(layers):
            k, s = k[part], s[part]
            x = x[part] if np.ndim(x) else x
            a = 1.0 + k / s
            b = np.sqrt(a * a - 1.0)
            coth = b / np.tanh(b * s * x)
            r = (1.0 - r * (a - coth)) / (a - r + coth)
        r = (1.0 - k1) * (1.0 - k2) * r / (1.0 - k2 * r)
        lab = colour.XYZ_to_Lab(r @ w / 100.0, xy)
        found.append(colour.delta_E(np.broadcast_to(reference, lab.shape), lab, method="CIE 2000"))
    return np.concatenate(found)


# Internal diffuse Fresnel reflectance, set by main.
INTERNAL_DIFFUSE = None


def internal_diffuse(n):
    """1 - (1 - r) / n² with the external diffuse reflectance r by numerical integration."""
    import numpy as np

    mu = (np.arange(200_000) + 0.5) / 200_000
    inside = np.sqrt(1.0 - (1.0 - mu * mu) / (n * n))
    s = (mu - n * inside) / (mu + n * inside)
    p = (inside - n * mu) / (inside + n * mu)
    r = np.mean((s * s + p * p) * mu)
    return 1.0 - (1.0 - r) / (n * n)


def main():
    global INTERNAL_DIFFUSE
    import numpy as np

    nm, layers = stacks()
    w, white = weights(nm)
    INTERNAL_DIFFUSE = internal_diffuse(1.5)
    # numpy is given the chunk that suits this machine's cache best.
    best, theirs = float("inf"), None
    for chunk in (64, 256, 1024, 10_368):
        theirs = differences(layers, w, white, chunk)
        seconds = []
        for _ in range(ROUNDS):
            start = time.perf_counter()
            differences(layers, w, white, chunk)
            seconds.append(time.perf_counter() - start)
        each = statistics.median(seconds) / len(theirs) * 1e6
        print(f"numpy {np.__version__}, {chunk} stacks at a time: {each:.2f} µs a stack", flush=True)
        best = min(best, each)
    ours = subprocess.run(
        ["cargo", "bench", "--no-default-features", "--bench", "stacks"],
        cwd=ROOT, check=True, stdout=subprocess.PIPE, text=True,
    )
    result = json.loads(ours.stdout.strip().splitlines()[-1])
    worst = float(np.max(np.abs(np.array(result["differences"]) - theirs[::97])))
    print(f"two-flux, direct: {result['direct_us']:.3f} µs a stack, {best / result['direct_us']:.1f} times numpy")
    print(f"by table (radiative transfer): {result['table_us']:.3f} µs a stack, {best / result['table_us']:.1f} times numpy")
    print(f"largest difference between both sides: {worst:.6f} ΔE00")
    if worst > 0.001:
        sys.exit("the two sides do not compute the same")


if __name__ == "__main__":
    if "--inside" in sys.argv:
        main()
    else:
        in_environment()
