"""A small controller that is honest: recovers by pressure, evacuates by time and depth, charges by weight, asks and tells.

It shows the line, not the trade: it identifies no gas, drains no oil and judges no leak. What it does not do it does not claim.
"""

import line

BOTH = ["Xv1", "Xv2"]
SIDES = {"Both": BOTH, "High": ["Xv2"], "Low": ["Xv1"]}
RECOVER = ["Xv3", "Xv4", "C1"]
CHARGE = ["Xv10", "Xv5"]
# No valve may stay open while one of these contacts is.
MUST_BE_CLOSED = ["Hs1AReleased", "Hs1BReleased", "Zs1DoorShut", "Psh1Healthy", "Psh2Healthy", "Ls2NotHigh"]
# Pressure of the vessel at which nothing more is put into it, Pa.
VESSEL_LIMIT = 2_400_000
# The compressor rests so long between two starts, s.
COMPRESSOR_RESTS = 180


class Stop(Exception):
    """The order ends here, for this reason."""


class FillByWeight:
    """One order from start to end; each `yield` names what is on until the next scan."""

    def begin(self, setup):
        self.config, self.job, self.notices, self.number = setup.config, None, [], 0
        self.weights, self.lamp, self.rested = [], "White", COMPRESSOR_RESTS

    def scan(self, now, frame):
        self.frame, self.notices, self.pressed = frame, [], frame.command
        self.weights = (self.weights + [self.weight_now()])[-20:]
        self.rested += self.config.scan / 1000
        match frame.command:
            case ("Start", number, order) if self.job is None:
                self.say("OrderStarted", number)
                self.job = self.service(order)
            case ("Start", *_):
                self.say("Refused", "Busy")
        on = next(self.job, []) if self.job else []
        if self.job and not on:
            self.job, self.lamp = None, "White"
        return line.answer({*on, "K1"}, lamp=self.lamp, notices=self.notices)

    def say(self, name, *held):
        self.notices.append((name, *held) if held else name)

    # Readings.

    def reading(self, name):
        place = line.ANALOG.index(name)
        channel, milliampere = self.config.sense.channels[place], self.frame.analog[place] * 24 / 65_535
        return channel.low + (milliampere - 4) / 16 * (channel.high - channel.low)

    def hose(self):
        return max(self.reading("Pt2"), self.reading("Pt3"))

    def weight_now(self):
        """What the vessel holds, mg: the mean of both bridges."""
        total = 0
        for sample, scale in list(zip(self.frame.scales, self.config.sense.scales))[:2]:
            cal = scale.cal
            total += (sample.code - cal.zero_code) * cal.span_mass / (cal.span_code - cal.zero_code) - cal.tare
        return total / 2

    def weight(self):
        return sum(self.weights) / len(self.weights)

    def closed(self, contact):
        return self.frame.switches >> line.SWITCHES.index(contact) & 1

    # Steps. Each watches what must hold throughout.

    def watch(self, on):
        open_ones = [contact for contact in MUST_BE_CLOSED if not self.closed(contact)]
        if self.pressed == "Abort" or open_ones or not self.closed("Zs2Coupled"):
            raise Stop
        return on

    def hold(self, seconds, on=()):
        """Keeps this on for a time."""
        for _ in range(round(seconds * 1000 / self.config.scan)):
            yield self.watch([*on, "K1"])

    def ask(self, question, on=()):
        """Waits for a yes."""
        self.number, self.lamp = self.number + 1, "Blue"
        self.say("Asked", {"number": self.number, "question": question})
        while self.pressed != ("Confirm", self.number):
            if self.pressed == ("Decline", self.number):
                raise Stop
            yield self.watch([*on, "K1"])
        self.lamp = "Green"

    def service(self, order):
        phase = None
        self.lamp, self.couplers = "Green", SIDES[order.sides]
        try:
            self.say("ProvingAir")
            yield from self.hold(self.config.air_changes / 1000)
            self.say("AirProven")
            for phase, steps in (("Recover", self.recover), ("Evacuate", self.evacuate), ("Charge", self.charge)):
                self.say("PhaseStarted", phase)
                yield from steps(order)
                self.say("PhaseEnded", phase, "Done")
            phase = None
            yield from self.ask("ShutCouplers", on=self.couplers)
            yield from self.hold(5)
            self.say("Release")
            self.say("OrderEnded", True)
        except Stop as stop:
            if phase is not None:
                self.say("PhaseEnded", phase, ("Failed", stop.args[0]) if stop.args else "Aborted")
            self.say("OrderEnded", False)
        yield []

    def recover(self, order):
        before = yield from self.rested_weight()
        limit = self.config.vessel_rated
        while True:
            # The valves first, then the compressor; never against a shut discharge, never soon after a stop.
            yield from self.hold(max(COMPRESSOR_RESTS - self.rested, 1), on=["Xv4"])
            while self.hose() > self.config.recovery_end:
                if self.weight() > limit or self.reading("Pt1") > VESSEL_LIMIT:
                    raise Stop("VesselFull")
                yield self.watch([*RECOVER, *self.couplers, "K1"])
            self.rested = 0
            self.say("RecoveryHold", round(self.hose()))
            yield from self.hold(1, on=["Xv4"])
            yield from self.hold(120, on=self.couplers)
            if self.hose() < self.config.recovery_restart:
                break
            self.say("RecoveryRestart", round(self.hose()))
        after = yield from self.rested_weight()
        self.say("Recovered", round(after - before))

    def rested_weight(self):
        """The vessel's weight when nothing moves."""
        yield from self.hold(8)
        return self.weight()

    def evacuate(self, order):
        if self.hose() > self.config.barometer:
            raise Stop("PressureForVacuum")
        yield from self.hold(3, on=["P1"])
        yield from self.hold(order.evacuate / 1000, on=["P1", "Xv6", *self.couplers])
        for _ in range(30):
            if self.reading("Pt4") <= order.depth:
                break
            yield from self.hold(60, on=["P1", "Xv6", *self.couplers])
        else:
            raise Stop("NoVacuum")
        self.say("Vacuum", round(self.reading("Pt4")))
        yield from self.hold(3, on=["P1"])

    def charge(self, order):
        before = yield from self.rested_weight()
        target = order.charge
        if before - target < self.config.vessel_heel:
            raise Stop(("VesselLow", round(before - self.config.vessel_heel), target))
        # Fast up to 40 g before the end, for the scale tells late; then in pulses.
        for _ in range(round(900_000 / self.config.scan)):
            if before - self.weight() >= target - 40_000:
                break
            yield self.watch([*CHARGE, *self.couplers, "K1"])
        for _ in range(60):
            now = yield from self.rested_weight()
            missing = target - (before - now)
            if missing < 1_500:
                break
            yield from self.hold(min(max(missing / 20_000, 0.1), 2), on=[*CHARGE, *self.couplers])
            yield from self.hold(2, on=self.couplers)
        else:
            raise Stop("ChargeStalled")
        # What stands in the hoses is the vehicle's: it draws it in.
        yield from self.hold(30, on=self.couplers)
        yield from self.ask("DrawIn", on=self.couplers)
        yield from self.hold(90, on=self.couplers)
        self.say("DrawnIn", round(self.reading("Pt2")))
        after = yield from self.rested_weight()
        self.say("Charged", round(before - after))


if __name__ == "__main__":
    line.serve(FillByWeight, "fill by weight")
