"""Starts the program again and again in a fraction of a second: everything is loaded once, then forked.

Reads ``start`` from standard input, answers with the number of the process, and leaves it to be killed.
"""

from __future__ import annotations

import os
import sys

import uvicorn

from wearline.catalogue.loading import load_catalogue
from wearline.web.application import create_app
from wearline.web.config import ServeConfig
from wearline.web.pages import routers


def main() -> None:
    routers()
    assert load_catalogue().checks
    database, port = sys.argv[1], int(sys.argv[2])
    for line in sys.stdin:
        if line.strip() != "start":
            return
        number = os.fork()
        if number == 0:
            app = create_app(ServeConfig(database, port=port))
            uvicorn.run(app, host="127.0.0.1", port=port, log_level="warning")
            os._exit(0)
        print(number, flush=True)
        os.waitpid(number, 0)
        print("ended", flush=True)


if __name__ == "__main__":
    main()
