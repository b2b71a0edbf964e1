"""The program under test, as a script would use it."""

import json
import os
import subprocess
from pathlib import Path


class Refused(Exception):
    """The program ended with another exit code than was expected."""


class Program:
    """Runs the binary at a fixed moment; everything it says goes through here."""

    def __init__(self, binary, now):
        self.binary = Path(binary).resolve()
        self.now = now

    def at(self, now):
        """The same program at another moment."""
        return Program(self.binary, now)

    def run(self, *args, data=None):
        """Runs the program and returns what happened."""
        env = {key: value for key, value in os.environ.items() if not key.startswith("BOOTHWRIGHT_")}
        env["BOOTHWRIGHT_NOW"] = self.now
        where = ["--data", str(data)] if data else []
        command = [str(self.binary), *where, *map(str, args)]
        return subprocess.run(command, env=env, capture_output=True, text=True, timeout=600, check=False)

    def text(self, *args, data=None, code=0):
        """What the program prints; another exit code than `code` is an error."""
        done = self.run(*args, data=data)
        if done.returncode != code:
            said = (done.stderr or done.stdout).strip()
            raise Refused(f"`{' '.join(map(str, args))}` ended with {done.returncode}, not {code}: {said}")
        return done.stdout

    def json(self, *args, data=None, code=0):
        """What the program answers as JSON."""
        return json.loads(self.text(*args, "--json", data=data, code=code))
