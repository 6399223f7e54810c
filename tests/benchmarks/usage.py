"""What a piece of work takes: seconds on the clock, seconds of processor time, memory beyond what was held before."""

from __future__ import annotations

import math
import resource
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

_STATUS = Path("/proc/self/status")
#: Writing 5 sets the peak back to what is held now (Linux, proc(5)).
_PEAK_RESET = Path("/proc/self/clear_refs")


@dataclass(frozen=True, slots=True)
class Usage:
    """Seconds on the clock and of processor time (all threads, the system's included), MB at the peak."""

    wall_s: float
    cpu_s: float
    peak_mb: float


def measure_usage(work: Callable[[], object]) -> Usage:
    """Do the work once and return what it took.

    Memory is counted from what the process holds at the beginning, so what an earlier piece of work has left in the
    allocator makes it look smaller; not a number where the system does not tell.
    """
    if _PEAK_RESET.exists():
        _PEAK_RESET.write_text("5")
    held_mb = _read_mb("VmRSS")
    wall_s, cpu_s = time.perf_counter(), _read_cpu_s()
    work()
    return Usage(time.perf_counter() - wall_s, _read_cpu_s() - cpu_s, _read_mb("VmHWM") - held_mb)


@dataclass(frozen=True, slots=True)
class Figures:
    """Of several runs: the median and the longest on the clock, the median processor time, the highest peak."""

    median_s: float
    max_s: float
    cpu_s: float
    peak_mb: float


def summarise(runs: list[Usage]) -> Figures:
    """Return the figures of several runs of one piece of work."""
    walls = [run.wall_s for run in runs]
    cpus, peaks = [run.cpu_s for run in runs], [run.peak_mb for run in runs]
    return Figures(statistics.median(walls), max(walls), statistics.median(cpus), max(peaks))


def _read_cpu_s() -> float:
    used = resource.getrusage(resource.RUSAGE_SELF)
    return used.ru_utime + used.ru_stime


def _read_mb(name: str) -> float:
    lines = _STATUS.read_text().splitlines() if _STATUS.exists() else []
    return next((int(line.split()[1]) / 1024 for line in lines if line.startswith(name + ":")), math.nan)
