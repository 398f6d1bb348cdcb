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

## Fields

field-charge = charge
field-evacuate = evacuation time
field-depth = evacuation depth
field-leak_hold = leak hold time
field-circuit = circuit volume
field-test_over = test pressure
field-test_hold = test time
field-oil_extra = extra oil
