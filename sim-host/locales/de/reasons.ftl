### Phasen, Befund der Kältemittelanalyse, wie und warum eine Phase endete, als Rest eines Satzes; und warum ein Messwert schlecht ist.

phase-purge = Entlüften des Behälters
phase-identify = Kältemittelanalyse
phase-recover = Rückgewinnung
phase-drain_oil = Altölablass
phase-pressure_test = Druckprobe
phase-evacuate = Evakuieren
phase-leak_check = Dichtheitsprüfung
phase-inject_oil = Öleinspritzung
phase-charge = Befüllen
phase-verify = Abschlusskontrolle
phase-clear_hoses = Schlauchentleerung
phase-upkeep = Wartung

gas-unknown = nicht bestimmt
gas-pure = rein
gas-air = zu viel Luft beigemischt
gas-foreign = Fremdgas
gas-flammable = brennbares Fremdgas (Kohlenwasserstoff)
gas-inconclusive = nicht eindeutig

outcome-done = erledigt
outcome-skipped = übersprungen: { $why }
outcome-aborted = vom Bediener beendet

broken-under = sein Strom liegt unter 3,6 mA, wie bei Drahtbruch
broken-over = sein Strom liegt über 21 mA, wie bei Kurzschluss
broken-frozen = er steht still, wo ein lebender sich bewegen würde
broken-rail = sein Wandler steht am Ende des Messbereichs
broken-noisy = er schwankt seit Sekunden zu stark, um etwas zu messen
broken-old = seit einer halben Sekunde kam kein Wert
broken-contradicted = andere Messwerte widersprechen ihm

## Warum eine Phase abgebrochen wurde, und was zu tun ist

reason-not_coupled = die Kupplungen sind nicht am Fahrzeug; beide anschließen
reason-reading_bad = ein unentbehrlicher Messwert ist schlecht; Liste der Eingänge ansehen und den Messumformer instand setzen
reason-scale_unsteady = die Behälterwaage kam nicht zur Ruhe; Hände und Schläuche von der Plattform fernhalten
reason-pressure_too_low = zu wenig Druck für eine Gasprobe; Klimaanlage laufen lassen oder Fahrzeug erwärmen
reason-pressure_too_high = der Schlauchdruck ist zu hoch; Kreislauf abkühlen lassen oder zuerst absaugen
reason-sample_filter_oily = Öl im Probenfilter; Filter wechseln und Probenleitung entleeren
reason-identifier_unsure = das Analysegerät lieferte keine zwei übereinstimmenden Proben; seinen Filter und Anschluss prüfen
reason-gas_refused = Befund der Kältemittelanalyse: { $gas }; dieses Gas darf nicht in den Behälter, eine eigene Flasche verwenden
reason-refusal_stands = Befund früherer Proben an diesem Anschluss: { $gas }; Kupplungen abnehmen, Ursache klären und neu beginnen
reason-no_identity = keine gültige Kältemittelanalyse an diesem Anschluss in den letzten zehn Minuten; zuerst analysieren
reason-vessel_full = der Behälter hat seine Füllgrenze erreicht; Kältemittel in eine andere Flasche umfüllen
reason-recovery_timeout = der Enddruck wurde nicht rechtzeitig erreicht; nach einer geschlossenen Kupplung oder einem verschlissenen Verdichter sehen
reason-nothing_to_recover = im Kreislauf ist Luft oder Stickstoff und kein Kältemittel
reason-draws_air = Luft strömt so schnell nach, wie Gas abgesaugt wird: der Kreislauf ist offen oder grob undicht, Undichtigkeit suchen
reason-keeps_rising = der Druck steigt immer wieder; Flüssigkeit oder Öl gast noch aus, eine Kupplung lässt durch, oder Luft dringt durch eine Undichtigkeit ein
reason-pressure_for_vacuum = der Schlauchdruck ist zu hoch für die Vakuumpumpe; zuerst absaugen, oder Luft oder Stickstoff von Hand ablassen
reason-not_recovered = im Kreislauf kann Kältemittel sein, das die Vakuumpumpe ausblasen würde; zuerst analysieren und absaugen
reason-holds_refrigerant = der Kreislauf enthält noch etwa { $mass } Kältemittel als Gas, vielleicht mehr im Öl; zuerst Kältemittelanalyse und Rückgewinnung beauftragen
reason-not_released = der Kreislauf steht noch bei { $pressure }; Luft oder Stickstoff von Hand ablassen und neu beginnen
reason-test_pressure = der Prüfdruck beträgt { $pressure } und nicht wie beauftragt; nachfüllen oder ablassen und neu beginnen
reason-pressure_falls = der Prüfdruck fiel um { $fall } mehr, als seine Temperatur erklärt: eine Undichtigkeit; mit Lecksuchgerät oder Lecksuchspray suchen, beheben und erneut prüfen
reason-no_vacuum = das Vakuum wird nicht erreicht; der Kreislauf ist offen oder grob undicht, Undichtigkeit suchen
reason-gauge_not_live = das Vakuummeter bewegte sich nicht, als es das musste; PT-4 prüfen
reason-pump_shallow = P-1 allein, am geschlossenen Verteiler, kommt nicht tiefer als { $pressure }: ihr Öl ist nass oder verbraucht, oder PT-4 zeigt zu viel; das Öl wechseln, und wo das nicht hilft, PT-4 mit einem anderen Vakuummeter vergleichen
reason-leaks = der Druck steigt geradlinig; Undichtigkeit vor dem Befüllen suchen und beheben
reason-leak_stands = eine frühere Vakuumhalteprüfung an diesem Anschluss fand eine Undichtigkeit; beheben, dann vor der nächsten Dichtheitsprüfung evakuieren
reason-still_wet = Feuchtigkeit ist nicht ausgeschlossen: der Druck steigt und flacht ab, das Evakuieren erreichte seine Tiefe nicht, oder es ist zu kalt, um Eis zu erkennen; länger oder wärmer evakuieren
reason-too_shallow = der Druck steigt nach kurzem Evakuieren, das bei { $pressure } endete: eine Undichtigkeit, oder Öl und Flüssigkeit gasen noch aus; zehn Minuten oder länger evakuieren und erneut prüfen
reason-no_leak_verdict = keine bestandene Dichtheitsprüfung an diesem Anschluss in den letzten dreißig Minuten
reason-not_reached = nicht begonnen, weil vorher „{ $phase }“ nicht bestanden wurde
reason-vessel_low = der Behälter kann { $gives } von den { $needs } abgeben, die diese Befüllung braucht; Behälter füllen
reason-no_room = der Behälter hat Platz für { $room }, das Fahrzeug kann { $needs } enthalten; Kältemittel in eine andere Flasche umfüllen
reason-charge_stalled = das Befüllen stockte, und nichts brachte es wieder in Gang; Fahrzeug kühlen oder Behälter erwärmen
reason-declined = der Bediener hat Nein gesagt
reason-blocked = eine Verriegelung oder fehlende Freigabe hielt sie zehn Minuten lang zurück; in der Verriegelungstabelle steht, worauf sie wartet
reason-not_rested = der Behälter hat nicht vier Stunden geruht, Wand und Luft innerhalb von 2 K
reason-nothing_to_purge = keine Luft, für die sich das Entlüften lohnt
reason-purge_loss_limit = das Entlüften endete an seiner Grenze des Kältemittelverlusts; Behälter kühl ruhen lassen und wiederholen
reason-pulses_spent = was abgeblasen wurde, senkte den Überschuss nicht; PT-1 und TT-1 mit einer Referenz vergleichen, nachsehen, ob XV-7 und seine Drossel frei sind, dann Behälter ruhen lassen und wiederholen
reason-not_ordered = nichts beauftragt
reason-high_voltage = kein Öl in einen Hochvolt-Verdichter ohne Nachweis der Spülung
reason-no_oil = die Frischölflasche gibt nichts ab; füllen und ihre Leitung prüfen
reason-oil_bottle_full = die Altölflasche ist voll; leeren
reason-separator_pressure = der Abscheider (PT-5) steht bei { $pressure }, zu viel zum Öffnen seines Ablasses (I17); zuerst absaugen oder Schläuche entleeren
reason-gauges_disagree = der Abscheider (PT-5) zeigt mehr als die Schläuche (PT-2, PT-3), die ihn speisen; Messumformer vergleichen und den abweichenden instand setzen
reason-hoses_disagree = die Messumformer der Schläuche hängen am selben Kreislauf und stimmen nicht überein, PT-2 bei { $low } und PT-3 bei { $high }; nichts wurde nach ihnen beurteilt: beide mit einem dritten vergleichen, den abweichenden instand setzen und neu beginnen
reason-pressure_implausible = die Ruhedrücke passen nicht zur Umgebungstemperatur; Füllmenge und Messumformer prüfen
reason-no_answer = es kam rechtzeitig keine Antwort
reason-took_too_long = sie lief länger, als eine solche Phase darf; in ihren Meldungen steht, worauf sie wartete
reason-trips_again = Verriegelungen lösten immer wieder aus und gaben wieder frei; in der Liste der Auslösungen steht, welche; Ursache beseitigen
reason-scale_disagrees = die Behälterwaage zeigt Unmögliches; Plattform freimachen, mit einem Gewicht prüfen und diese Füllung absaugen und wiegen
reason-overcharged = das Fahrzeug enthält { $mass } mehr als beauftragt; absaugen und neu befüllen
reason-undercharged = das Fahrzeug enthält { $mass } weniger als beauftragt; absaugen und neu befüllen
reason-couplers_moved = die Kupplungen wurden bewegt oder zehn Sekunden lang nicht überwacht: was vom Fahrzeug bekannt war, gilt nicht mehr; in den Schläuchen kann noch Kältemittel sein, anschließen und neu beginnen
reason-line_loaded = es steht Druck an, { $pressure }: zuerst Schläuche leeren oder absaugen; nichts wurde geöffnet
reason-weight_off = die Waage zeigt das Prüfgewicht { $off } { $side ->
    [less] zu leicht
   *[more] zu schwer
}; auf richtiges Gewicht und freie Plattform achten, sonst die Messbrücke instand setzen; nichts wurde verstellt
reason-no_return = ohne das Gewicht kehrt die Waage nicht zum alten Wert zurück, um { $off }; Plattform frei machen und neu beginnen; nichts wurde verstellt
reason-not_proven = das Geprüfte zeigte es nicht rechtzeitig; instand setzen und neu prüfen; die Prüfung bleibt fällig
reason-not_stored = der Datenspeicher nahm das Ergebnis nicht an; Speicher instand setzen und neu beginnen
reason-record_sound = die Aufzeichnung ist in Ordnung; es gibt nichts wiederherzustellen
reason-not_evacuated = der neue Behälter steht bei { $pressure }: er kam nicht evakuiert oder ist undicht; evakuieren und neu beginnen
reason-flush_short = { $mass } von dem, was die Schläuche spülte, kamen nicht zurück; prüfen, ob beide Kupplungen am Anschluss dicht sitzen, den Abscheider auskochen lassen und neu beginnen
reason-cylinder_full = die Schläuche bleiben bei { $pressure }: die externe Flasche ist zu oder war nicht evakuiert; öffnen oder eine leere bringen
