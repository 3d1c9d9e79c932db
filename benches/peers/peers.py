"""The stepped kernel in NumPy, Numba and C against the program's own: results first, then medians of paired runs."""

import ctypes
import statistics
import subprocess
import sys
import time
from pathlib import Path

import numba
import numpy as np

folder, lanes, rust = Path(sys.argv[1]), int(sys.argv[2]), sys.argv[3:]
ROUNDS = 7


def program():
    """Runs the program's bench once: what it printed, by name."""
    lines = subprocess.run([*rust, str(folder)], capture_output=True, text=True, check=True).stdout.split("\n")
    found = {}
    for words in (line.split() for line in lines if line):
        found[" ".join(words[:-1])] = float(words[-1])
    return found


first = program()
numbers = np.fromfile(folder / "problem.bin", dtype="<f8")
lots, heads, steps = (int(n) for n in numbers[:3])
tube, hour = numbers[3:5]
sizes = [(lots, heads)] * 2 + [(lots, steps)] * 3
rate, size, drying, decay, gain = (
    np.ascontiguousarray(part.reshape(shape))
    for part, shape in zip(np.split(numbers[5:], np.cumsum([a * b for a, b in sizes])[:-1]), sizes)
)


def in_numpy():
    gone, water = np.zeros_like(rate), np.full_like(rate, tube)
    end = np.full_like(rate, np.inf)
    for n in range(steps):
        d, a, g = drying[:, n : n + 1], decay[:, n : n + 1], gain[:, n : n + 1]
        dry, wet = gone + rate * d, gone * a + rate * d * g
        drunk = (dry - wet) * size
        share = np.where(drunk > water, water / drunk, 1.0)
        water = np.maximum(water - share * drunk, 0.0)
        new = dry + share * (wet - dry)
        crossed = (new >= 1.0) & np.isinf(end)
        if crossed.any():
            end[crossed] = hour * (n + ((1.0 - gone) / (new - gone))[crossed])
        gone = new
    return end


@numba.njit(parallel=True, cache=False)
def loops(rate, size, drying, decay, gain, tube, hour):
    lots, heads = rate.shape
    end = np.full((lots, heads), np.inf)
    for lot in numba.prange(lots):
        for h in range(heads):
            gone, water, r, s = 0.0, tube, rate[lot, h], size[lot, h]
            for n in range(drying.shape[1]):
                d = drying[lot, n]
                dry, wet = gone + r * d, gone * decay[lot, n] + r * d * gain[lot, n]
                drunk = (dry - wet) * s
                share = water / drunk if drunk > water else 1.0
                water = max(water - share * drunk, 0.0)
                new = dry + share * (wet - dry)
                if new >= 1.0 and end[lot, h] == np.inf:
                    end[lot, h] = hour * (n + (1.0 - gone) / (new - gone))
                gone = new
    return end


def in_numba():
    return loops(rate, size, drying, decay, gain, tube, hour)


library = ctypes.CDLL(str(folder / "kernel.so"))
pointer = ctypes.POINTER(ctypes.c_double)


def in_c(kernel):
    kernel.argtypes = [ctypes.c_long] * 3 + [ctypes.c_double] * 2 + [pointer] * 6

    def run():
        end = np.empty_like(rate)
        arrays = [a.ctypes.data_as(pointer) for a in (rate, size, drying, decay, gain, end)]
        kernel(lots, heads, steps, tube, hour, *arrays)
        return end

    return run


def seconds(run, times=20):
    """Processor seconds of one run on all threads (other work on the machine hardly lengthens these), and the clock's."""
    run()
    begun = time.process_time(), time.perf_counter()
    for _ in range(times):
        run()
    return (time.process_time() - begun[0]) / times, (time.perf_counter() - begun[1]) / times


peers = {"NumPy": in_numpy, "Numba, parallel": in_numba, "C, SIMD, both cores": in_c(library.kernel), "the same, rearranged": in_c(library.arranged)}
for name, run in peers.items():
    ends = np.sort(run().ravel())
    for p in (0.01, 0.05, 0.1, 0.25):
        ours, theirs = first[f"quantile {p}"], np.quantile(ends, p)
        assert abs(ours - theirs) < 1e-3 * ours < np.inf, f"{name}: {p:.0%} of heads have flagged after {theirs} h, by the program after {ours} h"
print("The hours at which 1, 5, 10 and 25 % of heads have flagged agree within 0.1 %.")

rounds = []
for _ in range(ROUNDS):
    rounds.append((program(), {name: seconds(run) for name, run in peers.items()}))
median = lambda of: statistics.median(of(own, best) for own, best in rounds)
own = median(lambda own, _: own["kernel"])
print(f"\nOne course of {lots * heads} heads, {steps} steps, medians of {ROUNDS} paired rounds:")
for i, (which, name) in enumerate((("kernel", "processor time"), ("kernel-clock", "by the clock"))):
    print(f"  {name}\n    {'the stepped kernel':24}{1e3 * median(lambda own, _: own[which]):9.2f} ms")
    for peer in peers:
        took, ratio = median(lambda _, b: b[peer][i]), median(lambda o, b: b[peer][i] / o[which])
        print(f"    {peer:24}{1e3 * took:9.2f} ms   {ratio:7.2f} times the kernel")
print("\n24 placing times, heads' shares at one hour (NumPy: 24 courses, as much stepping as from the earliest):")
for name in ("dry", "tube", "vase"):
    step, search = (median(lambda o, _: o[f"{name}-{way}"]) for way in ("stepped", "search"))
    times, clock = (median(lambda o, b: 24 * b["NumPy"][i] / o[f"{name}-search{of}"]) for i, of in enumerate(("", "-clock")))
    print(f"  {name:5}stepped {1e3 * step:8.2f} ms   search {1e3 * search:7.2f} ms   {step / search:6.1f} times   NumPy {times:7.0f} times, by the clock {clock:.0f}")

bounds = ctypes.CDLL(str(folder / "bound.so"))
bounds.fma_rounds.restype = bounds.divide_rounds.restype = ctypes.c_double
count = 1_000_000
each = lambda rounds: min(seconds(lambda: rounds(ctypes.c_long(count)), 3)[0] for _ in range(5)) / (10 * lanes * count)
fma, divide = each(bounds.fma_rounds), each(bounds.divide_rounds)
assert 0.005e-9 < fma < divide, f"no processor multiplies in {fma} s and divides in {divide} s"
print(f"\nOne core, {lanes} doubles at a time: a multiply-add in {1e9 * fma:.3f} ns a double, a divide in {1e9 * divide:.3f} ns.")
# A step of a head as the others write it: 11 multiply-adds or the like, and one divide beside them. As the program does
# it: 6, and no divide unless something happens to the head.
for what, least in (("the equations as the others write them", max(11 * fma, divide)), ("them as the program does them", 6 * fma)):
    bound = lots * heads * steps * least
    print(f"Bound on the course, {what}: {1e3 * bound:.2f} ms; the stepped kernel reaches {bound / own:.0%} of it.")
print("""
Times are of processors, summed over threads, where not by the clock. Not fair: NumPy keeps whole arrays in memory; C and Numba are compiled
for this very processor and know flagging alone; the program is compiled for any x86-64, and its kernel keeps wilting, empty
tubes, age, heat and causes, too. "Rearranged" is C that does without divides as the program does. The program runs as a
process of its own in each round; time to start is left out for all.""")
