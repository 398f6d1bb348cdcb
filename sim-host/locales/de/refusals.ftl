### Warum ein Befehl abgelehnt wurde, als Rest eines Satzes, und die Felder eines Auftrags.

refusal-busy = ein Auftrag läuft; abbrechen oder abwarten
refusal-repeated_id = dieser Start kam schon einmal; er wird nicht doppelt ausgeführt
refusal-nothing_ordered = der Auftrag nennt keine Phase
refusal-out_of_range = „{ $field }“ liegt außerhalb des zulässigen Bereichs
refusal-tripped = Verriegelung { $row } steht an; Ursache beseitigen, dann Reset drücken
refusal-not_paused = nichts ist angehalten
refusal-not_running = es läuft nichts
refusal-no_question = keine Frage ist offen
refusal-question_closed = die Frage zu dieser Antwort ist geschlossen; die jetzt offene lesen
refusal-nothing_to_reset = nichts ist verriegelt

## Felder

field-charge = Füllmenge
field-evacuate = Evakuierzeit
field-depth = Evakuiertiefe
field-leak_hold = Vakuumhaltezeit
field-circuit = Volumen des Kreislaufs
field-test_over = Prüfdruck
field-test_hold = Prüfzeit
field-oil_extra = zusätzliches Öl
