### Auslösungen: was eine Zeile auslöste, als Rest eines Satzes, und worauf jede Ursache sieht.

trip-latched = von früher gespeichert, die Ursache besteht nicht mehr
trip-bad = { $what }: der Eingang ist gestört
trip-bad_last = { $what }: der Eingang ist gestört, letzter guter Wert { $value }
trip-state = { $what }
trip-standing = { $what }, Messwert { $value }
trip-reading = { $what } { $value }
trip-high = { $what } { $value }, löst aus ab { $limit }
trip-low = { $what } { $value }, löst aus unter { $limit }
trip-over = { $what } { $value }, löst aus bei { $limit }

## Messwerte, die keine Größe der Anzeige sind

level-gas = { $share } % UEG
level-fill = { $share } % der Füllgrenze
level-current = { $value } A
level-speed = { $value } U/min
level-voltage = { $value } V

## Worauf eine Ursache sieht, oder der Zustand, den sie meldet

watch-cabinet_gas = Gas im Gehäuse (AT-2)
watch-vessel_fill = Behälterinhalt (WT-1)
watch-vessel_pressure = Behälterdruck (PT-1)
watch-discharge_switch = der Druckschalter der Druckseite (PSH-1) ist offen
watch-identity = keine gültige Kältemittelanalyse an diesem Anschluss
watch-purge_leave = kein geruhter, ruhiger Behälter mit Luft darin
watch-charge_flow = der Füllstrom passt nicht zu seinem Modell
watch-charge_scale = die Behälterwaage (WT-1) wackelt oder ist gestört
watch-late_scan = ein Zyklus kam zu spät
watch-separator_level = der Niveauschalter des Abscheiders (LS-2) ist offen: die Flüssigkeit steht hoch
watch-pump_admission = höherer Schlauchdruck (PT-2, PT-3)
watch-unrecovered = nichts besagt, dass der Kreislauf kein Kältemittel enthält
watch-hoses_rise = die Schlauchdrücke (PT-2, PT-3) standen keine Minute lang
watch-heater_cover = Behälterinhalt über der Heizung (WT-1)
watch-heater_skin = Oberfläche der Heizung (TT-3)
watch-heater_effect = die Behälterwand (TT-1) wird unter der Heizung nicht warm
watch-discharge_temperature = Druckgastemperatur (TT-2)
watch-suction = niedrigerer Schlauchdruck (PT-2, PT-3)
watch-motor_current = Motorstrom von C-1 (IT-1)
watch-leak_verdict = keine bestandene Dichtheitsprüfung an diesem Anschluss
watch-effect = Strom, Druck oder Masse folgte einem Befehl nicht
watch-scale_creep = die Behälterwaage (WT-1) bewegte sich, obwohl alle Wege geschlossen sind
watch-scale_lost = die Behälterwaage (WT-1) ist ausgefallen
watch-separator_pressure = Abscheiderdruck (PT-5)
watch-oil_bottle = der Schalter der Altölflasche (LS-1) ist offen: die Flasche ist voll
watch-bridges_apart = Abweichung der Messbrücken der Behälterwaage (WT-1A, WT-1B)
watch-fan_speed = Drehzahl des Gehäuselüfters (ST-1)
watch-heater_welded = die Heizung (TT-3) wird warm, obwohl ein Schütz (H-1, H-2) aus ist
watch-pump_inlet_switch = der Druckschalter am Eintritt von P-1 (PSH-2) ist offen
watch-pump_valve_stuck = XV-6 schloss nicht: PSH-2 dahinter ist offen
watch-air_flow = der Strömungswächter (FSL-1) ist offen: kein Luftstrom
watch-door = die Wartungstür (ZS-1) ist offen
watch-air_proof = der Luftstrom ist noch nicht nachgewiesen
watch-line_locked = XV-1 und XV-2 sind zu an einer Füllleitung, in der Flüssigkeit sein kann
watch-draws_air = bei der Rückgewinnung wurde Luft eingesaugt
watch-charge_unconfirmed = eine ungewöhnliche Füllmenge ist kein zweites Mal bestätigt
watch-charge_beyond = der Behälter (WT-1) hat mehr abgegeben als beauftragt
watch-oil_voltage = nichts besagt, dass das Fahrzeug keinen Hochvolt-Verdichter hat
watch-identifier_unsound = nicht bekannt, ob das Analysegerät (AT-1) in Ordnung ist
watch-purge_spent = das Entlüftungsventil (XV-7) hat seine Zeit für diesen Tag verbraucht
watch-purge_loss = der Behälter (WT-1) verlor mehr als 20 g bei einem Öffnen von XV-7
watch-relief_near = Behälterdruck (PT-1) nahe an seinem Sicherheitsventil
watch-vessel_loses = der Behälter (WT-1) verliert weiter Masse, obwohl alle Wege geschlossen sind
watch-hose_falls = ein Schlauchdruck (PT-2, PT-3) fällt schneller als 1 bar/s, ohne dass etwas absaugt
watch-couplers_off = eine Kupplung löste sich (ZS-2) während der Arbeit oder bei Druck in den Schläuchen (PT-2, PT-3)
watch-stop_pressed = der Not-Halt (HS-1) ist gedrückt
watch-stop_disagrees = die Kanäle des Not-Halts (HS-1) widersprechen sich
watch-coils = Spulen führen anderen Strom als befohlen
watch-span_moved = die Spanne der Behälterwaage ist nicht die hinterlegte
watch-upkeep = der Filtertrockner (WQI-1) oder das Pumpenöl (KQI-1) ist an seiner Grenze
watch-unlocking = ein Tausch brach zwischen seinem Code und der neuen Standzeit ab
watch-store_lost = der Datenspeicher (NV-1) liefert nichts Glaubwürdiges
watch-wall_clock = die Uhr (KT-1) sprang, ging zurück oder steht
watch-restarted = die Steuerung blieb hängen oder wurde von ihrem Watchdog neu gestartet
watch-tick_rate = der Takt (KT-2) und der andere Oszillator weichen um mehr als 2,5 % ab
watch-self_check = eine Selbstprüfung der Platine schlug fehl, oder die Ventilversorgung folgte beim Einschalten ihrem Relais nicht
watch-stale_image = die Eingänge sind die eines früheren Zyklus
watch-proof_due = eine Wiederholungsprüfung ist überfällig
watch-supply_low = Versorgung (ET-1)
watch-rail_low = Ventilversorgung (ET-2)
watch-starts_again = drei Einschaltungen mit weniger als einer Minute dazwischen
