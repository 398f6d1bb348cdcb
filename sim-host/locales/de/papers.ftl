### Der Beleg eines Service. Bezeichnungen stehen links von einer Zahl auf Papier von 32 Spalten: kurze lassen sie in einer Zeile.

paper-title = Servicebeleg
paper-uncertified = Simulierte Station, nicht zugelassener Entwurf: kein Nachweis einer Arbeit an einem wirklichen Fahrzeug.
paper-clock = Simulierte Zeit: der Lauf beginnt um 00:00.

## Wie der Auftrag endete

paper-headline_pass = Abgeschlossen
paper-headline_refused = NICHT ABGESCHLOSSEN: von der Station verweigert
paper-headline_failed = NICHT ABGESCHLOSSEN: gescheitert
paper-headline_aborted = NICHT ABGESCHLOSSEN: vom Bediener beendet
paper-headline_unfinished = NICHT ABGESCHLOSSEN: abgeschnitten
paper-cut_off = Vor dem Ende abgeschnitten; was hier steht, wurde bis dahin gemeldet.
paper-what_if = Was wäre wenn: Zeilen der Verriegelung waren ausgelassen:
paper-own_word = Von einer anderen Steuerung als dem Kern betrieben: all dies ist deren eigene Angabe.
paper-reason = Grund
paper-no_reason = die Station sagte keinen

## Bezeichnungen

paper-record = Beleg
paper-job = Auftrag
paper-begun = Beginn
paper-ended = Ende
paper-station = Station
paper-operator = Bediener
paper-not_named = nicht genannt
paper-vehicle = Fahrzeug
paper-vehicle_id = Kennung
paper-refrigerant = Kältemittel
paper-label = Aufkleber
paper-high_voltage = Hochvolt
paper-masses = Mengen
paper-recovered = Abgesaugt
paper-oil_drained = Altöl
paper-oil_new = Neuöl
paper-oil_kind = Öl der Station
paper-ordered = Beauftragt
paper-charged = Befüllt
paper-purged = Entlüftet
paper-findings = Befunde
paper-gas = Kältemittelanalyse
paper-vacuum = Vakuum
paper-leak = Dichtheitsprüfung
paper-hoses = Schläuche
paper-none = keine
paper-not_said = nicht gemeldet
paper-not_ordered = nicht beauftragt
paper-not_checked = nicht geprüft
paper-lapsed = Eine frühere Vakuumhalteprüfung gilt nicht mehr: nicht geprüft.
paper-phases = Phasen
paper-warnings = Warnungen
paper-trips = Verriegelungen
paper-cautions = Vorsicht

## Wie eine Phase endete

paper-outcome_pass = erledigt
paper-outcome_failed = gescheitert
paper-outcome_refused = verweigert
paper-outcome_aborted = beendet
paper-outcome_skipped = ausgelassen
paper-outcome_unfinished = abgeschnitten

## Was aus einer Auslösung wurde

paper-released = Gab nach { $time } s frei.
paper-stands = Stand noch an, als der Auftrag endete. Aufheben: { $clear }.

## Vorsicht

paper-caution_gas = Das Gas kann brennbar sein: keine Flammen oder Funken, Raum lüften.
paper-caution_pressure = Kreislauf, Schläuche und Behälter stehen unter Druck: Schutzbrille und Handschuhe.
paper-caution_hold = Eine Vakuumhalteprüfung ist grob: dass ein Kreislauf dicht ist, beweist sie nicht.
paper-caution_licence = Dies ersetzt keine örtliche Vorschrift und keine sachkundige Arbeit.

## Ein Beleg, der aus dem Speicher der Station nochmals gedruckt wird

paper-reprint = Nachdruck eines Eintrags im Speicher der Station. Zeiten nach der Uhr der Station.
paper-not_kept = im Eintrag nicht aufbewahrt
