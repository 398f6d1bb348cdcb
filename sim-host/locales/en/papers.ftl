### The ticket of a service. Names stand at the left of a figure on paper of 32 columns: short ones keep it in one line.

paper-title = Service ticket
paper-uncertified = Simulated station, uncertified design: no record of work on a real vehicle.
paper-clock = Simulated time: the run begins at 00:00.

## How the job ended

paper-headline_pass = Completed
paper-headline_refused = NOT COMPLETED: refused by the station
paper-headline_failed = NOT COMPLETED: failed
paper-headline_aborted = NOT COMPLETED: ended by the operator
paper-headline_unfinished = NOT COMPLETED: cut off
paper-cut_off = Cut off before its end; what stands here was told until then.
paper-what_if = What if: interlock rows were left out:
paper-own_word = Driven by another controller than the core: all of this is its own word.
paper-reason = Reason
paper-no_reason = the station did not say

## Names

paper-record = Record
paper-job = Job
paper-begun = Begun
paper-ended = Ended
paper-station = Station
paper-operator = Operator
paper-not_named = not named
paper-vehicle = Vehicle
paper-vehicle_id = Vehicle ID
paper-refrigerant = Refrigerant
paper-label = Label
paper-high_voltage = high voltage
paper-masses = Masses
paper-recovered = Recovered
paper-oil_drained = Used oil
paper-oil_new = New oil
paper-oil_kind = Station's oil
paper-ordered = Ordered
paper-charged = Charged
paper-purged = Purged
paper-findings = Findings
paper-gas = Gas analysis
paper-vacuum = Vacuum
paper-leak = Leak check
paper-hoses = Hoses
paper-none = none
paper-not_said = not said
paper-not_ordered = not ordered
paper-not_checked = not checked
paper-lapsed = An earlier hold no longer counts: not checked.
paper-phases = Phases
paper-warnings = Warnings
paper-trips = Interlock trips
paper-cautions = Cautions

## How a phase ended

paper-outcome_pass = done
paper-outcome_failed = failed
paper-outcome_refused = refused
paper-outcome_aborted = ended
paper-outcome_skipped = left out
paper-outcome_unfinished = cut off

## What became of a trip

paper-released = Let go after { $time } s.
paper-stands = Stood when the job ended. To clear: { $clear }.

## Cautions

paper-caution_gas = The gas may be flammable: no flames or sparks, air the room.
paper-caution_pressure = Circuit, hoses and vessel are under pressure: goggles and gloves.
paper-caution_hold = A vacuum hold is a gross test: a tight circuit is not proven by it.
paper-caution_licence = This replaces no local code and no licensed practice.

## A ticket printed again from the station's store

paper-reprint = Reprint of a record in the station's store. Times by the station's clock.
paper-not_kept = not kept in the record
