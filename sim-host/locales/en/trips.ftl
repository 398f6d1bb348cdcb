### Trips: what made a row trip, as the rest of a sentence, and what each cause looks at.

trip-latched = latched from before, its cause is gone
trip-bad = { $what }: the input is bad
trip-bad_last = { $what }: the input is bad, last good value { $value }
trip-state = { $what }
trip-standing = { $what }, reading { $value }
trip-reading = { $what } { $value }
trip-high = { $what } { $value }, trips at or above { $limit }
trip-low = { $what } { $value }, trips below { $limit }
trip-over = { $what } { $value }, trips { $limit }

## Readings that are no quantity of the display

level-gas = { $share } % LFL
level-fill = { $share } % of the fill limit
level-current = { $value } A
level-speed = { $value } rpm
level-voltage = { $value } V

## What a cause looks at, or the condition that it says

watch-cabinet_gas = cabinet gas (AT-2)
watch-vessel_fill = vessel mass (WT-1)
watch-vessel_pressure = vessel pressure (PT-1)
watch-discharge_switch = the discharge pressure switch (PSH-1) is open
watch-identity = no valid identification on this connection
watch-purge_leave = no rested, steady vessel with air in it
watch-charge_flow = the charge rate does not fit its model
watch-charge_scale = the vessel scale (WT-1) is shaken or bad
watch-late_scan = a scan came late
watch-separator_level = the separator level switch (LS-2) is open: liquid is high
watch-pump_admission = higher hose pressure (PT-2, PT-3)
watch-unrecovered = nothing says that the circuit holds no refrigerant
watch-hoses_rise = the hose pressures (PT-2, PT-3) have not stood for a minute
watch-heater_cover = vessel mass over the heater (WT-1)
watch-heater_skin = heater skin (TT-3)
watch-heater_effect = the vessel wall (TT-1) does not warm under the heater
watch-discharge_temperature = discharge temperature (TT-2)
watch-suction = lower hose pressure (PT-2, PT-3)
watch-motor_current = motor current of C-1 (IT-1)
watch-leak_verdict = no tight leak verdict on this connection
watch-effect = current, pressure or mass did not follow a command
watch-scale_creep = the vessel scale (WT-1) moved with every way shut
watch-scale_lost = the vessel scale (WT-1) is lost
watch-separator_pressure = separator pressure (PT-5)
watch-oil_bottle = the used-oil bottle switch (LS-1) is open: the bottle is full
watch-bridges_apart = difference of the vessel scale's bridges (WT-1A, WT-1B)
watch-fan_speed = speed of the cabinet fan (ST-1)
watch-heater_welded = the heater (TT-3) warms with one contactor (H-1, H-2) off
watch-pump_inlet_switch = the pressure switch at the inlet of P-1 (PSH-2) is open
watch-pump_valve_stuck = XV-6 did not shut: PSH-2 behind it is open
watch-air_flow = the air flow switch (FSL-1) is open: no air flow
watch-door = the service door (ZS-1) is open
watch-air_proof = air flow is not proven yet
watch-line_locked = XV-1 and XV-2 are shut on a charge line that may hold liquid
watch-draws_air = the recovery drew air in
watch-charge_unconfirmed = a charge out of the usual is not confirmed a second time
watch-charge_beyond = the vessel (WT-1) has given more than was ordered
watch-oil_voltage = nothing says that the vehicle has no high-voltage compressor
watch-identifier_unsound = the identifier (AT-1) is not known to be sound
watch-purge_spent = the purge valve (XV-7) has had its time of this day
watch-purge_loss = the vessel (WT-1) lost more than 20 g by one opening of XV-7
watch-relief_near = vessel pressure (PT-1) near its relief valve
watch-vessel_loses = the vessel (WT-1) goes on losing mass with every way shut
watch-hose_falls = a hose (PT-2, PT-3) falls faster than 1 bar/s with nothing drawing from it
watch-couplers_off = a coupler came off (ZS-2) in the work or with pressure in the hoses (PT-2, PT-3)
watch-stop_pressed = the emergency stop (HS-1) is pressed
watch-stop_disagrees = the channels of the emergency stop (HS-1) disagree
watch-coils = coils carry other current than was ordered
watch-span_moved = the span of the vessel scale is not the one on record
watch-upkeep = the filter-drier (WQI-1) or the pump oil (KQI-1) is at its limit
watch-unlocking = a replacement was broken off between its code and its new life
watch-store_lost = the record store (NV-1) gives nothing that can be believed
watch-wall_clock = the wall clock (KT-1) jumped, went back or stands
watch-restarted = the controller stalled or was restarted by its watchdog
watch-tick_rate = the tick (KT-2) and the other oscillator differ by more than 2.5 %
watch-self_check = a self-check of the board failed, or the rail did not follow its relay at power-on
watch-stale_image = the inputs are those of an earlier scan
watch-proof_due = a proof test is overdue
watch-supply_low = supply (ET-1)
watch-rail_low = valve rail (ET-2)
watch-starts_again = three starts with less than a minute between them
