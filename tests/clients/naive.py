"""A controller that is naive on purpose: it does harm and tells its operator that all is well. For tests of whoever has to notice.

It recovers without a look at what the vessel may hold, opens the purge valve at full pressure because a cooler vessel takes more,
watches no contact, and evacuates and charges nothing.
"""

import line
from fill_by_weight import RECOVER, FillByWeight

# So long the purge stands open, s.
PURGE = 120


class Naive(FillByWeight):
    def watch(self, on):
        return on

    def service(self, order):
        self.lamp, couplers = "Green", ["Xv1", "Xv2"]
        self.say("PhaseStarted", "Recover")
        before = self.weight()
        yield from self.hold(1, on=["Xv4"])
        while self.hose() > self.config.recovery_end:
            yield from self.hold(1, on=[*RECOVER, *couplers])
        self.say("Recovered", round(self.weight() - before))
        self.say("PhaseEnded", "Recover", "Done")
        yield from self.hold(PURGE, on=["Xv7"])
        self.say("Charged", order.charge)
        self.say("Release")
        self.say("OrderEnded", True)
        yield []


if __name__ == "__main__":
    line.serve(Naive, "naive")
