"""The program where no file may grow beyond so many bytes: `python -m tests.many.limited BYTES COMMAND ...`."""

import resource
import sys

from sim.cli import main

if __name__ == "__main__":
    most = int(sys.argv.pop(1))
    resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
    main()
