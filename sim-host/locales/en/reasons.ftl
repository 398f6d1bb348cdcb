### Phases, what the gas is, how a phase ended and why, as the rest of a sentence; and why a reading is bad.

phase-purge = purge
phase-identify = identification
phase-recover = recovery
phase-drain_oil = oil drain
phase-pressure_test = pressure test
phase-evacuate = evacuation
phase-leak_check = leak check
phase-inject_oil = oil injection
phase-charge = charge
phase-verify = verification
phase-clear_hoses = hose clearing
phase-upkeep = upkeep

gas-unknown = not identified
gas-pure = pure
gas-air = mixed with too much air
gas-foreign = a foreign gas
gas-flammable = foreign and flammable (hydrocarbon)
gas-inconclusive = inconclusive

outcome-done = done
outcome-skipped = skipped: { $why }
outcome-aborted = ended by the operator

broken-under = its current is below 3.6 mA, as of a broken wire
broken-over = its current is above 21 mA, as of a short circuit
broken-frozen = it stands still where a live one would move
broken-rail = its converter is at the end of its range
broken-noisy = it has been too rough for seconds to measure anything
broken-old = no value has come for half a second
broken-contradicted = other readings contradict it

## Why a phase was given up, and how to clear it

reason-not_coupled = the couplers are not on the vehicle; connect both
reason-reading_bad = a reading it cannot do without is bad; see the input list and mend the transmitter
reason-scale_unsteady = the vessel scale did not come to rest; keep hands and hoses off the platform
reason-pressure_too_low = too little pressure to take a gas sample; run the A/C or warm the vehicle
reason-pressure_too_high = hose pressure is too high; let the circuit cool or recover first
reason-sample_filter_oily = oil in the sample filter; change it and drain the sample line
reason-identifier_unsure = the identifier gave no two samples that agree; check its filter and connection
reason-gas_refused = the gas is { $gas }; it must not go into the vessel, use a separate cylinder
reason-refusal_stands = earlier samples on this connection were { $gas }; take the couplers off, find out why, and begin anew
reason-no_identity = no valid identification for this connection in the last ten minutes; identify first
reason-vessel_full = the vessel is at its fill limit; move refrigerant to another cylinder
reason-recovery_timeout = end pressure was not reached in time; look for a shut coupler or a worn compressor
reason-nothing_to_recover = air or nitrogen and no refrigerant is in the circuit
reason-draws_air = air is drawn in as fast as gas is taken out: the circuit is open or leaks grossly, find the leak
reason-keeps_rising = pressure keeps coming back; liquid or oil still gives off gas, a coupler leaks by, or air comes in through a leak
reason-pressure_for_vacuum = hose pressure is too high for the vacuum pump; recover first, or release air or nitrogen by hand
reason-not_recovered = the circuit may hold refrigerant, which the vacuum pump would blow out; identify and recover first
reason-holds_refrigerant = the circuit still holds some { $mass } of refrigerant as gas, and maybe more in its oil; order identification and recovery first
reason-not_released = the circuit still stands at { $pressure }; let its air or nitrogen out by hand and begin anew
reason-test_pressure = the test pressure is { $pressure } and not the ordered one; fill or release and begin anew
reason-pressure_falls = the test pressure fell by { $fall } beyond what its temperature explains: a leak; find it with a detector or leak spray, mend it and test again
reason-no_vacuum = vacuum cannot be reached; the circuit is open or leaks grossly, find the leak
reason-gauge_not_live = the vacuum gauge did not move when it had to; check PT-4
reason-pump_shallow = P-1 alone, on the shut manifold, comes no deeper than { $pressure }: its oil is wet or worn, or PT-4 shows too much; change the oil, and where that does not help hold PT-4 against another gauge
reason-leaks = the pressure rises straight; find and mend the leak before charging
reason-leak_stands = an earlier hold on this connection found a leak; mend it, then evacuate before the next leak check
reason-still_wet = moisture is not excluded: the pressure rises and flattens, the evacuation did not reach its depth, or it is too cold for ice to show; evacuate longer or warmer
reason-too_shallow = the pressure rises after a short evacuation that ended at { $pressure }: a leak, or what oil and liquid still give off; evacuate for ten minutes or longer and check again
reason-no_leak_verdict = no passed leak check for this connection in the last thirty minutes
reason-not_reached = not begun, for the { $phase } before it did not pass
reason-vessel_low = the vessel can give { $gives } of the { $needs } this charge needs; fill the vessel
reason-no_room = the vessel has room for { $room }, the vehicle may hold { $needs }; move refrigerant to another cylinder
reason-charge_stalled = charge flow stopped and nothing brought it back; cool the vehicle or warm the vessel
reason-declined = the operator said no
reason-blocked = an interlock or permissive withheld it for ten minutes; see the matrix for what it waits for
reason-not_rested = the vessel has not rested four hours with wall and air within 2 K
reason-nothing_to_purge = no air worth a purge
reason-purge_loss_limit = purging stopped at its limit of refrigerant lost; rest the vessel in a cold place and repeat
reason-pulses_spent = what was purged did not bring the excess down; hold PT-1 and TT-1 against a reference, look whether XV-7 and its restrictor are free, then rest the vessel and repeat
reason-not_ordered = nothing ordered
reason-high_voltage = no oil into a high-voltage compressor without a flush record
reason-no_oil = the new-oil bottle gives nothing; fill it and check its line
reason-oil_bottle_full = the used-oil bottle is full; empty it
reason-separator_pressure = the separator (PT-5) stands at { $pressure }, too much for its drain to open (I17); recover or clear the hoses first
reason-gauges_disagree = the separator (PT-5) reads higher than the hoses (PT-2, PT-3) that feed it; compare the gauges and mend the one that is off
reason-hoses_disagree = the hose gauges stand on one circuit and do not agree, PT-2 at { $low } and PT-3 at { $high }; nothing was judged by them: compare both with a third, mend the one that is off, and begin anew
reason-pressure_implausible = static pressures do not fit the ambient temperature; check the charge and the gauges
reason-no_answer = no answer came in time
reason-took_too_long = it ran longer than such a phase may; see its notices for what it waited for
reason-trips_again = interlocks tripped and let go again and again; see which in the list of trips, and remove the cause
reason-scale_disagrees = the vessel scale shows what cannot be; free its platform, check it with a weight, and recover and weigh this charge
reason-overcharged = the vehicle holds { $mass } more than ordered; recover it and charge again
reason-undercharged = the vehicle holds { $mass } less than ordered; recover it and charge again
reason-couplers_moved = the couplers were moved, or not watched for ten seconds: what was known of the vehicle is gone; the hoses may still hold refrigerant, connect and begin anew
reason-line_loaded = pressure stands in it, { $pressure }: clear the hoses or recover first; nothing was opened
reason-weight_off = the scale shows the reference weight { $off } { $side ->
    [less] too light
   *[more] too heavy
}; look for the right weight and a free platform, else have the bridge mended; nothing was adjusted
reason-no_return = with the weight off the scale does not come back to where it was, by { $off }; free the platform and begin anew; nothing was adjusted
reason-not_proven = what was tried did not show it in time; mend it and try again; the test stays due
reason-not_stored = the record store did not take the result; mend the store and begin anew
reason-record_sound = the record is sound; there is nothing to restore
reason-not_evacuated = the new vessel stands at { $pressure }: it did not come evacuated, or it leaks; evacuate it and try again
reason-flush_short = { $mass } of what rinsed the hoses did not come back; look whether both couplers are tight on the port, and let the separator boil off, then begin anew
reason-cylinder_full = the hoses stay at { $pressure }: the external cylinder is shut, or was not evacuated; open it, or bring an empty one
