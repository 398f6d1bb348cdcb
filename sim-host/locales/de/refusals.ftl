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
refusal-on_flush_port = die Kupplungen sitzen am Spülanschluss (ZS-3); ans Fahrzeug anschließen
refusal-not_on_flush_port = die Kupplungen sitzen nicht am Spülanschluss (ZS-3); beide dort aufsetzen
refusal-not_flushed = das Fahrzeug hat Hochvolt, und die Schläuche waren seit dem letzten Spülen zu einem anderen Fahrzeug offen; beide Kupplungen auf den Spülanschluss setzen und zuerst das Spülen beauftragen
refusal-hoses_foreign = in den Schläuchen steht ein Gas, das nicht das dieser Station ist; beide Kupplungen auf eine evakuierte Flasche für Mischgas setzen und zuerst das Reinigen beauftragen

## Felder

field-charge = Füllmenge
field-evacuate = Evakuierzeit
field-depth = Evakuiertiefe
field-leak_hold = Vakuumhaltezeit
field-circuit = Volumen des Kreislaufs
field-test_over = Prüfdruck
field-test_hold = Prüfzeit
field-oil_extra = zusätzliches Öl
field-mass = Masse
field-phases = Phasenliste; Wartung wird allein bestellt, sie

## Warum der Code eines Teils nicht angenommen wurde

code-mistyped = er ist vertippt; Zeichen für Zeichen mit dem Etikett vergleichen
code-other_version = er hat eine Version, die dieses Programm nicht kennt; beim Lieferanten des Teils nachfragen
code-not_ours = er wurde nicht für diese Station ausgestellt; beim Lieferanten des Teils nachfragen
code-of_drier = er gehört zu einem Filtertrockner
code-of_oil = er gehört zu einer Füllung Pumpenöl
code-is_release = er ist die Freigabe eines Vorgesetzten
code-used_before = er wurde schon benutzt; jedes neue Teil kommt mit einem eigenen Code
code-too_old = er ist so viel älter als der letzte, dass niemand sagen kann, ob er benutzt wurde; einen Vorgesetzten um Freigabe bitten
code-wait = zu viele falsche gingen ihm voraus; { $time } s warten
code-not_stored = der Datenspeicher nimmt ihn nicht an, und vor dem Speichern wird nichts gewährt; Speicher instand setzen
