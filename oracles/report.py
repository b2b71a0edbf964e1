"""Counting what agrees and what does not."""

from collections import Counter

# So many differences of one check are told in full; the rest are only counted.
MOST_TOLD = 12


class Check:
    """One outside check: how much was compared, what differed, how far the numbers lay apart."""

    def __init__(self, name):
        self.name = name
        self.compared = Counter()
        self.met = Counter()
        self.differences = []
        self.largest = 0.0
        self.largest_at = ""

    def same(self, what, where, ours, theirs):
        """Both must be equal."""
        self.compared[what] += 1
        if ours != theirs:
            self.differences.append(f"{where}: {what} is {theirs!r}, the check has {ours!r}")

    def near(self, what, where, ours, theirs, within):
        """Both must be absent, or lie no further apart than `within`."""
        self.compared[what] += 1
        if ours is None or theirs is None:
            if ours is not theirs:
                self.differences.append(f"{where}: {what} is {theirs!r}, the check has {ours!r}")
            return
        apart = abs(float(ours) - float(theirs))
        if apart > self.largest:
            self.largest, self.largest_at = apart, f"{what}, {where}"
        if not apart <= within:
            self.differences.append(f"{where}: {what} is {theirs!r}, the check has {float(ours)!r}")

    def must(self, what, where, holds):
        """Something must hold."""
        self.compared[what] += 1
        if not holds:
            self.differences.append(f"{where}: not so: {what}")

    def must_meet(self, *cases):
        """A check that never met a case has not checked it."""
        for case in cases:
            if not self.met[case]:
                self.differences.append(f"the case `{case}` was never met, so nothing was checked of it")

    def tell(self):
        """Prints the line of this check; returns whether it passed."""
        passed = not self.differences and bool(self.compared)
        counts = ", ".join(f"{n:,} {what}" for what, n in sorted(self.compared.items()))
        apart = f"; largest difference {self.largest:.2g} ({self.largest_at})" if self.largest else ""
        print(f"{'ok  ' if passed else 'FAIL'} {self.name}: {counts or 'nothing compared'}{apart}")
        for difference in self.differences[:MOST_TOLD]:
            print(f"       {difference}")
        if len(self.differences) > MOST_TOLD:
            print(f"       … and {len(self.differences) - MOST_TOLD:,} more")
        return passed
