### What the controller tells: notices and questions. The id of a notice is that of its text up to the hyphen.

order_started = Order { $order } accepted.
interrupted = Order { $order } was interrupted by a loss of power or a restart; nothing of it goes on. It had charged about { $charged }.
refused = Refused: { $why }.
proving_air = Flow switch seen open; flushing the cabinet with five air changes.
air_proven = Cabinet air flow is proven.
air_not_proven = Air flow could not be proven: check fan K-1 and switch FSL-1.
phase_started = Phase begins: { $phase }.
phase_ended = Phase ended: { $phase }: { $outcome }.
order_ended = { $plan ->
    [met] Order done.
   *[missed] Order ended before its plan was met.
}
paused = Paused: everything is shut.
resumed = Going on.
tripped = Interlock { $row } tripped: { $reading }. To clear: { $clear }.
cleared = Interlock { $row } released.
low_sample_pressure = Only { $pressure } at the hoses: waiting before the gas sample.
sampled = Sample: { $declared } % of the declared refrigerant, { $air } % air.
gas = The gas is { $gas }.
recovery_hold = { $pressure } reached: holding to see whether pressure comes back.
recovery_restart = Pressure is back at { $pressure }: recovering again.
recovered = Recovered { $mass }.
air_taken = Some { $mass } of what came is air, by the vessel's pressure: let the vessel rest, then purge it.
oil_drained = Used oil drained: { $mass }.
moisture_plateau = Vacuum stands at { $pressure }: evacuating longer, water may be boiling.
pressure_test = Pressure test: the pressure fell by { $fall } beyond what its temperature explains; less than { $least } beyond it says nothing.
nitrogen_left = The circuit may still stand under nitrogen: let it out by hand before a coupler or fitting is opened.
vacuum = Evacuation ends at { $pressure }.
leak-tight = Vacuum hold: no leak above the limit; air inflow below { $inflow } Pa m3/s, which stands for a refrigerant loss below { $loss }. This hold could not have seen less than { $least }: hold longer, or search under pressure with a detector.
leak-found = Vacuum hold: { $shape ->
    [leak] a straight rise, a leak
    [moisture] a rise that flattens, moisture or oil
   *[unknown] not judged
}, { $inflow } Pa m3/s in its last third.
drying_again = The circuit is wet, not leaking: evacuating again.
oil_injected = New oil injected: { $mass }.
warming_vessel = Warming the vessel to have pressure for the charge.
charge_stall = Charge flow has stopped, { $mass } are missing.
charged = Charged { $mass }, hose content taken off.
vessel_excess = Vessel stands { $excess } above saturation.
purge_costs = A purge will vent some { $mass } with the air.
purged = Purged: { $mass } vented.
static_pressure = Static pressures: low side { $low }, high side { $high }.
drawn_in = The vehicle has drawn the hoses down to { $pressure }.
hoses_cleared = The hoses held { $mass }.
hoses_hold = Hoses and manifold may hold up to { $mass }: shut both couplers, and order a hose clearing before they come off.
vehicle_holds = The vehicle got { $mass }, { $off } { $side ->
    [less] less
   *[more] more
} than ordered.
unusual_charge = The order charges { $ordered }; for this circuit and after what was recovered { $side ->
    [low] from { $usual } on is usual.
   *[high] up to { $usual } is usual.
}
release = The couplers may be taken off.
late_scan = Late: up to { $time } ms between two scans.
unsound = { $input } is not to be believed: { $why }.
sound = { $input } can be believed again.
code_refused = The code for the { $part ->
    [drier] filter-drier is not taken: { $why }. Its life
    [oil] pump oil is not taken: { $why }. Its life
   *[record] lost record is not taken: { $why }. Its state
} stays as it was.
exchanged = The { $part ->
    [drier] filter-drier is new
    [oil] pump oil is new
   *[record] record is one again, with every part worn and every test owed
}; { $by ->
    [code] its code is used up, and both are on record.
   *[release] a supervisor's release is used up for it, and both are on record.
}
not_stored = The record store does not take what it is given: mend it before the next order. What happens now may be lost with the power.
line_stands = The line that is opened next stands at { $pressure }.
code_awaited = Type the { $part ->
    [drier] code that came with the new filter-drier
    [oil] code that came with the new pump oil
   *[record] release that a supervisor has for this record
}.
weight_off = With the reference weight on, the scale shows { $off } { $side ->
    [less] less
   *[more] more
} than it weighs.
filled = { $mass } came into the vessel from the cylinder.
given_away = { $mass } went from the vessel into the external cylinder.
vessel_holds = By its scale at rest the vessel holds { $mass }.
worn = The { $part ->
    [drier] filter-drier
   *[oil] pump oil
} has used { $share } % of its life: have a new one at hand.

## Questions

ask_purge = Purge the vessel at that cost?
ask_sample_filter = Is the sample filter free of oil?
ask_circuit_opened = The circuit was not recovered. Was it opened, so that it holds no refrigerant, and may it be evacuated?
ask_fill_nitrogen = Fill the circuit at the vehicle with dry nitrogen to the ordered pressure, through a regulator, and shut the bottle. Done?
ask_release_by_hand = The circuit holds air or nitrogen under pressure. Let it out slowly by hand at the vehicle, away from faces and flames. Done?
ask_vehicle_compressor = Charge flow has stopped. Start the vehicle's A/C; the charge goes to the low side only?
ask_draw_in = Shut the high-side coupler and run the vehicle's A/C, so that it draws in what the hoses hold. Done?
ask_shut_couplers = Shut both couplers at the vehicle by hand, stop its A/C, then confirm.
ask_unusual_charge = Compare this charge with the vehicle's label. Charge so much all the same?
ask_park_couplers = Take both couplers off every vehicle, shut their hand valves, hang them in their holders. Done?
ask_change_drier = The line stands without pressure. Exchange filter-drier, in-line filters and seals; gloves and goggles on, air the room. Done?
ask_change_pump_oil = Drain the warm oil of P-1, look whether it is cloudy, fill new oil to the mark. Done?
ask_free_platform = See that nothing leans on the platform and nothing lies on it that does not belong there. Done?
ask_put_weight = Put the ordered reference weight on the platform, without a knock. Done?
ask_take_weight = Take the weight off again. Done?
ask_shut_cylinder = Shut the supply cylinder at its own valve; its hose is emptied next. Done?
ask_change_sample_filter = Exchange the sample filter of AT-1 and blow its line through with dry air or nitrogen. Done?
ask_give_test_gas = Lead test gas to the head of AT-2; alarms will sound. Flowing?
ask_take_test_gas = Take the test gas away and let the head clear. Done?
ask_pump_up_switch = Put the hand pump on PSH-1 and raise its pressure slowly, no further than the switch bears, until it opens. Done?
ask_ease_switch = Let the pressure at PSH-1 off. Done?
ask_change_relief_valve = A licensed person exchanges PSV-1 for one within its date, the vessel shut off or empty. Done?
ask_accept_loss = What the record held is lost. Every part will count as worn, every test as owed, and no code up to the release's number is taken any more. Accept that?
ask_change_vessel = The line stands without pressure. Shut V-1 and take it off; a licensed person puts a new one in its place: evacuated, of the same tare, its relief valve within its date, its valves open. Done?
ask_hang_cylinder = Both couplers sit on an external cylinder for mixed gas, evacuated and of 10 L or more, in the open or under an extractor, its valve open. Done?
ask_shut_mixed = Shut that cylinder at its own valve, mark what it holds, and leave it on the couplers until the hoses are empty. Done?
