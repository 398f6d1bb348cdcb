### Why a command was refused, as the rest of a sentence, and the fields of an order.

refusal-busy = an order is running; abort it or wait
refusal-repeated_id = this start was given before; it is not done twice
refusal-nothing_ordered = the order names no phase
refusal-out_of_range = the { $field } is outside its range
refusal-tripped = interlock { $row } stands; clear its cause, then press reset
refusal-not_paused = nothing is paused
refusal-not_running = nothing is running
refusal-no_question = no question is open
refusal-question_closed = the question this answers is closed; read the one that is open now
refusal-nothing_to_reset = nothing is latched
refusal-on_flush_port = the couplers sit on the flush port (ZS-3); put them on the vehicle
refusal-not_on_flush_port = the couplers are not on the flush port (ZS-3); put both on it
refusal-not_flushed = the vehicle has high voltage, and the hoses were open to another kind of vehicle since they were last flushed; put both couplers on the flush port and order the flush first
refusal-hoses_foreign = a gas that is not this station's stands in the hoses; put both couplers on an evacuated cylinder for mixed gas and order the decontamination first

## Fields

field-charge = charge
field-evacuate = evacuation time
field-depth = evacuation depth
field-leak_hold = leak hold time
field-circuit = circuit volume
field-test_over = test pressure
field-test_hold = test time
field-oil_extra = extra oil
field-mass = mass
field-phases = list of phases; upkeep is ordered alone, so it

## Why the code of a part was not taken

code-mistyped = it is mistyped; compare it with the label, symbol by symbol
code-other_version = it is of a version that this program does not know; ask the supplier of the part
code-not_ours = it was not made for this station; ask the supplier of the part
code-of_drier = it belongs to a filter-drier
code-of_oil = it belongs to a filling of pump oil
code-is_release = it is a supervisor's release
code-used_before = it was used before; every new part comes with a code of its own
code-too_old = it is so much older than the last one that nobody can tell whether it was used; ask a supervisor for a release
code-wait = too many wrong ones came before it; wait { $time } s
code-not_stored = the record store does not take it, and nothing is given before it is stored; mend the store
