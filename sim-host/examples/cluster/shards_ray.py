"""Makes the parts of a campaign as tasks of Ray, then merges them.

    pip install "ray>=2.9"
    python shards_ray.py PLAN FOLDER PARTS

Every node needs the program and the folder at the same path. A task that dies with its worker or ends with an error is tried again; shards that
are whole are not made twice. A task is many runs, for each process first runs the healthy jobs of its shards.
"""

import os
import subprocess
import sys

import ray

PROGRAM = os.environ.get("VALVEWRIGHT", "valvewright")
WRONG_USE = 64


@ray.remote(num_cpus=1, max_retries=5, retry_exceptions=[subprocess.CalledProcessError])
def part(plan: str, folder: str, which: int, of: int) -> int:
    words = [PROGRAM, "campaign", plan, "--out", folder, "--jobs", "1", "--shard", f"{which}/{of}"]
    end = subprocess.run(words, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
    if end.returncode == WRONG_USE:
        # It would be wrong again.
        raise ValueError(end.stderr)
    end.check_returncode()
    return which


def main(plan: str, folder: str, parts: int) -> int:
    ray.init()
    waiting = [part.remote(os.path.abspath(plan), os.path.abspath(folder), which, parts) for which in range(1, parts + 1)]
    while waiting:
        done, waiting = ray.wait(waiting)
        print("part", ray.get(done[0]), "is whole,", len(waiting), "to come", flush=True)
    return subprocess.run([PROGRAM, "campaign", "--merge", folder]).returncode


if __name__ == "__main__":
    if len(sys.argv) != 4 or not sys.argv[3].isdigit() or int(sys.argv[3]) < 1:
        sys.exit(__doc__)
    sys.exit(main(sys.argv[1], sys.argv[2], int(sys.argv[3])))
