"""Start a process in one way and end with its exit code: `python spawning.py forkserver|spawn`."""

import multiprocessing
import sys

from sim.processes import safely

if __name__ == "__main__":
    with safely():
        process = multiprocessing.get_context(sys.argv[1]).Process(target=print, args=("done",))
        process.start()
    process.join()
    sys.exit(process.exitcode)
