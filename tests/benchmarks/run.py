# ruff: noqa: T201 - run as a script that prints its answer
"""Measure `taxcalc review` against reading the same file and nothing else.

    python tests/benchmarks/run.py                     100 000 and 1 000 000 lines
    python tests/benchmarks/run.py --full              5 000 000 as well
    python tests/benchmarks/run.py --require 2.5       leave with 1 where a limit is broken

a is `pyarrow.csv.read_csv(path).to_pandas()`, b is `taxcalc review FILE --seller ... --json`. Both are timed
as whole fresh processes, start of Python and imports included; the best of three counts, and the runs
alternate, so that a busy moment of the machine hits both. "a, call" is the time of the two calls alone, and
"b/call" the stricter ratio: all of b against the bare reading. Only b/a is held against `--require`.

The peak is the largest resident set of b. A waiter, a fresh Python that starts the command and does nothing
else, asks `resource.getrusage(RUSAGE_CHILDREN)` after its end; so it is the peak of the largest single
process among those that the command started and waited for, not their sum.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
import tomllib
from dataclasses import dataclass, field
from pathlib import Path

from make_lines import write_lines

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
REQUIRED_AT = 1_000_000
PEAK_LIMIT_MIB = 1536
DONE = (0, 4)
"""Exit codes of a review that gave its answer (4: some rows were set aside)."""

READ = """\
import sys, time
import pyarrow.csv
start = time.perf_counter()
frame = pyarrow.csv.read_csv(sys.argv[1]).to_pandas()
print(time.perf_counter() - start, file=sys.stderr)
"""
WAIT = """\
import json, resource, subprocess, sys, time
start = time.perf_counter()
done = subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, check=False)
seconds = time.perf_counter() - start
peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss // (1024 if sys.platform == "darwin" else 1)
last = done.stderr.decode(errors="replace").strip().splitlines()[-1:]
print(json.dumps({"seconds": seconds, "peak_kib": peak, "exit_code": done.returncode, "last": "".join(last)}))
"""


@dataclass(frozen=True)
class Run:
    """One run of a command: seconds, peak of the largest process in MiB, exit code, last line on stderr."""

    seconds: float
    peak_mib: float
    exit_code: int
    last: str


@dataclass
class Measured:
    """The runs of a and b on one file."""

    lines: int
    reads: list[Run] = field(default_factory=list)
    reviews: list[Run] = field(default_factory=list)

    @property
    def read(self) -> float:
        """Best time of a as a whole process."""
        return min(run.seconds for run in self.reads)

    @property
    def read_call(self) -> float:
        """Best time of the two calls alone."""
        return min(float(run.last) for run in self.reads)

    @property
    def review(self) -> float:
        """Best time of b."""
        return min(run.seconds for run in self.reviews)

    @property
    def peak_mib(self) -> float:
        """Largest peak of b in any of its runs."""
        return max(run.peak_mib for run in self.reviews)

    @property
    def ratio(self) -> float:
        """How many times as long as a plain read the review takes."""
        return self.review / self.read


class FailedRunError(Exception):
    """A command that was to be measured gave no answer."""


def measured_run(command: list[str]) -> Run:
    """Run a command under a fresh waiter, away from the checkout; raise `FailedRunError` where it gave no answer.

    Away from it, because a package that is installed is measured, and not its sources, which may have to be compiled.
    """
    waiter = subprocess.run(
        [sys.executable, "-c", WAIT, *command],
        cwd=tempfile.gettempdir(),
        capture_output=True,
        text=True,
        check=True,
    )
    said = json.loads(waiter.stdout)
    run = Run(said["seconds"], said["peak_kib"] / 1024, said["exit_code"], said["last"])
    if run.exit_code not in DONE:
        message = f"exit code {run.exit_code}: {' '.join(command[1:4])} ... said: {run.last}"
        raise FailedRunError(message)
    return run


def review_command(files: list[Path], *options: str) -> list[str]:
    """Build the command line of a review, run by the Python that runs this script."""
    return [sys.executable, "-m", "taxcalc", "review", *map(str, files), *options, "--json"]


def measure(lines: int, folder: Path, times: int) -> Measured:
    """Make the file where it is missing, then run a and b in turn."""
    path = folder / f"lines-{lines}.csv"
    if not path.exists():
        part = path.with_suffix(".part")
        write_lines(part, lines)
        part.replace(path)
    measured = Measured(lines)
    for _ in range(times):
        measured.reads.append(measured_run([sys.executable, "-c", READ, str(path)]))
        measured.reviews.append(measured_run(review_command([path], "--seller", str(HERE / "seller.toml"))))
    return measured


def cold_start(times: int) -> float:
    """Time the review of the shipped example, best of `times`."""
    folder = ROOT / "examples"
    demo = tomllib.loads((folder / "demo.toml").read_text(encoding="utf-8"))
    command = review_command(
        [folder / name for name in demo["orders"]],
        *("--seller", str(folder / demo["seller"]), "--columns", str(folder / demo["columns"])),
        *("--as-of", str(demo["as_of"]), "--quarter", demo["period"]),
    )
    return min(measured_run(command).seconds for _ in range(times))


def broken_limits(measured: list[Measured], required: float) -> list[str]:
    """Name each limit that the run of `REQUIRED_AT` lines broke, or that it was not measured."""
    at = [one for one in measured if one.lines == REQUIRED_AT]
    if not at:
        return [f"{REQUIRED_AT} lines were not measured, so --require {required} cannot be judged"]
    broken = []
    if at[0].ratio > required:
        broken.append(f"b/a is {at[0].ratio:.2f} at {REQUIRED_AT} lines, above {required}")
    if at[0].peak_mib > PEAK_LIMIT_MIB:
        broken.append(f"the peak is {at[0].peak_mib:.0f} MiB at {REQUIRED_AT} lines, above {PEAK_LIMIT_MIB}")
    return broken


def show(measured: list[Measured]) -> None:
    """Print the table."""
    print("         N      a s  a, call      b s    b/a  b/call   MiB b   rows/s b")
    for one in measured:
        strict = one.review / one.read_call
        print(
            f"{one.lines:>10} {one.read:>8.2f} {one.read_call:>8.2f} {one.review:>8.2f} {one.ratio:>6.2f} "
            f"{strict:>7.2f} {one.peak_mib:>7.0f} {one.lines / one.review:>10.0f}"
        )


def arguments() -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(
        description="Measure taxcalc review against a plain read of the same file."
    )
    parser.add_argument(
        "lines", nargs="*", type=int, default=[100_000, REQUIRED_AT], help="numbers of order lines"
    )
    parser.add_argument("--full", action="store_true", help="measure 5000000 lines as well")
    parser.add_argument("--require", type=float, metavar="RATIO", help="leave with 1 where b/a is above this")
    parser.add_argument("--times", type=int, default=3, help="runs of each; the best counts")
    parser.add_argument("--folder", type=Path, help="keep the files of order lines here and use them again")
    return parser.parse_args()


def main() -> int:
    """Measure, print, and say with the exit code whether the limits hold."""
    given = arguments()
    with tempfile.TemporaryDirectory(prefix="taxcalc-benchmark-") as made:
        folder = given.folder or Path(made)
        folder.mkdir(parents=True, exist_ok=True)
        try:
            measured = [
                measure(n, folder, given.times) for n in [*given.lines, *([5_000_000] if given.full else [])]
            ]
            show(measured)
            print(f"review of the shipped example: {cold_start(given.times):.2f} s")
        except FailedRunError as failure:
            print(failure, file=sys.stderr)
            return 1
    broken = broken_limits(measured, given.require) if given.require is not None else []
    for limit in broken:
        print(limit, file=sys.stderr)
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
