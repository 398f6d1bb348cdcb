### Was die Steuerung meldet: Meldungen und Fragen.

order_started = Auftrag { $order } angenommen.
interrupted = Auftrag { $order } wurde durch Netzausfall oder Neustart unterbrochen; nichts davon läuft weiter. Bis dahin waren etwa { $charged } eingefüllt.
refused = Abgelehnt: { $why }.
proving_air = Strömungswächter offen gesehen; Gehäuse wird mit fünf Luftwechseln gespült.
air_proven = Luftstrom im Gehäuse ist nachgewiesen.
air_not_proven = Luftstrom ließ sich nicht nachweisen: Lüfter K-1 und Strömungswächter FSL-1 prüfen.
phase_started = Phase beginnt: { $phase }.
phase_ended = Phase beendet: { $phase }: { $outcome }.
order_ended = { $plan ->
    [met] Auftrag erledigt.
   *[missed] Auftrag beendet, bevor sein Plan erfüllt war.
}
paused = Angehalten: alles ist geschlossen.
resumed = Es geht weiter.
tripped = Verriegelung { $row } hat ausgelöst: { $reading }. Abhilfe: { $clear }.
cleared = Verriegelung { $row } freigegeben.
low_sample_pressure = Nur { $pressure } an den Schläuchen: Gasprobe wartet auf mehr Druck.
sampled = Probe: { $declared } % des angegebenen Kältemittels, { $air } % Luft.
gas = Befund der Kältemittelanalyse: { $gas }.
recovery_hold = { $pressure } erreicht: Wartezeit, ob der Druck wieder ansteigt.
recovery_restart = Druck wieder bei { $pressure }: es wird weiter abgesaugt.
recovered = Rückgewonnen: { $mass }.
air_taken = Nach dem Behälterdruck sind etwa { $mass } des Abgesaugten Luft: Behälter ruhen lassen, dann entlüften.
oil_drained = Altöl abgelassen: { $mass }.
moisture_plateau = Das Vakuum bleibt bei { $pressure } stehen: es wird länger evakuiert, vermutlich siedet Wasser.
pressure_test = Druckprobe: der Druck fiel um { $fall } mehr, als seine Temperatur erklärt; unter { $least } darüber hinaus ist das ohne Aussage.
nitrogen_left = Im Kreislauf kann noch Stickstoff unter Druck stehen: von Hand ablassen, bevor eine Kupplung oder Verschraubung geöffnet wird.
vacuum = Evakuieren endet bei { $pressure }.
leak-tight = Vakuumhalteprüfung: keine Undichtigkeit über dem Grenzwert; Lufteinbruch unter { $inflow } Pa m3/s, was einem Kältemittelverlust unter { $loss } entspricht. Weniger als { $least } hätte diese Prüfung nicht erkannt: länger halten oder unter Druck mit dem Lecksuchgerät suchen.
leak-found = Vakuumhalteprüfung: { $shape ->
    [leak] geradliniger Anstieg, eine Undichtigkeit
    [moisture] abflachender Anstieg, Feuchtigkeit oder Öl
   *[unknown] nicht beurteilt
}, { $inflow } Pa m3/s im letzten Drittel.
drying_again = Der Kreislauf ist feucht, nicht undicht: es wird erneut evakuiert.
oil_injected = Frischöl eingefüllt: { $mass }.
warming_vessel = Der Behälter wird erwärmt, damit zum Befüllen Druck da ist.
charge_stall = Das Befüllen stockt, { $mass } fehlen.
charged = Befüllt: { $mass }, Schlauchinhalt abgezogen.
vessel_excess = Der Behälterdruck liegt { $excess } über der Sättigung.
purge_costs = Beim Entlüften gehen mit der Luft etwa { $mass } Kältemittel verloren.
purged = Entlüftet: { $mass } abgeblasen.
static_pressure = Ruhedrücke: Niederdruckseite { $low }, Hochdruckseite { $high }.
drawn_in = Das Fahrzeug hat die Schläuche auf { $pressure } leergesaugt.
hoses_cleared = Schlauchinhalt: { $mass }.
hoses_hold = Schläuche und Verteiler können bis zu { $mass } enthalten: beide Kupplungen schließen und Schlauchentleerung beauftragen, bevor sie abgenommen werden.
vehicle_holds = Das Fahrzeug hat { $mass } erhalten, { $off } { $side ->
    [less] weniger
   *[more] mehr
} als beauftragt.
unusual_charge = Beauftragt ist eine Füllmenge von { $ordered }; für diesen Kreislauf und nach der rückgewonnenen Menge { $side ->
    [low] sind ab { $usual } üblich.
   *[high] sind bis { $usual } üblich.
}
release = Die Kupplungen dürfen abgenommen werden.
late_scan = Verspätung: bis zu { $time } ms zwischen zwei Zyklen.
unsound = { $input } ist nicht glaubwürdig: { $why }.
sound = { $input } ist wieder glaubwürdig.
code_refused = { $part ->
    [drier] Der Code für den Filtertrockner wird nicht angenommen: { $why }. Seine Standzeit
    [oil] Der Code für das Pumpenöl wird nicht angenommen: { $why }. Dessen Standzeit
   *[record] Der Code für die verlorene Aufzeichnung wird nicht angenommen: { $why }. Deren Lage
} bleibt, wie sie war.
exchanged = { $part ->
    [drier] Der Filtertrockner ist neu
    [oil] Das Pumpenöl ist neu
   *[record] Die Aufzeichnung gilt wieder, jedes Teil als verbraucht und jede Prüfung als fällig
}; { $by ->
    [code] der Code ist verbraucht, beides ist gespeichert.
   *[release] freigegeben von einem Vorgesetzten; diese Freigabe ist verbraucht, beides ist gespeichert.
}
not_stored = Der Datenspeicher nimmt nichts an: vor dem nächsten Auftrag instand setzen. Was jetzt geschieht, kann mit dem nächsten Netzausfall verloren gehen.
line_stands = Die Leitung, die als nächste geöffnet wird, steht unter { $pressure }.
code_awaited = { $part ->
    [drier] Code eingeben, der mit dem neuen Filtertrockner kam.
    [oil] Code eingeben, der mit dem neuen Pumpenöl kam.
   *[record] Freigabe eingeben, die ein Vorgesetzter für diese Aufzeichnung hat.
}
weight_off = Mit dem Prüfgewicht zeigt die Waage { $off } { $side ->
    [less] weniger
   *[more] mehr
}, als es wiegt.
filled = { $mass } kamen aus der Flasche in den Behälter.
given_away = { $mass } gingen aus dem Behälter in die externe Flasche.
vessel_holds = Nach der ruhenden Waage enthält der Behälter { $mass }.
worn = { $part ->
    [drier] Der Filtertrockner
   *[oil] Das Pumpenöl
} hat { $share } % der Standzeit verbraucht: Ersatz bereithalten.

## Fragen

ask_purge = Den Behälter zu diesem Preis entlüften?
ask_sample_filter = Ist der Probenfilter frei von Öl?
ask_circuit_opened = Aus dem Kreislauf wurde nicht abgesaugt. War er geöffnet, sodass er kein Kältemittel enthält, und darf er evakuiert werden?
ask_fill_nitrogen = Kreislauf am Fahrzeug über einen Druckminderer mit trockenem Stickstoff bis zum beauftragten Druck füllen und die Flasche schließen. Erledigt?
ask_release_by_hand = Im Kreislauf steht Luft oder Stickstoff unter Druck. Am Fahrzeug langsam von Hand ablassen, weg von Gesicht und Flammen. Erledigt?
ask_vehicle_compressor = Das Befüllen stockt. Klimaanlage des Fahrzeugs einschalten; wird nur auf der Niederdruckseite befüllt?
ask_draw_in = Hochdruckkupplung schließen und Klimaanlage des Fahrzeugs laufen lassen, damit sie den Schlauchinhalt einsaugt. Erledigt?
ask_shut_couplers = Beide Kupplungen am Fahrzeug von Hand schließen, Klimaanlage ausschalten, dann bestätigen.
ask_unusual_charge = Diese Füllmenge mit dem Aufkleber am Fahrzeug vergleichen. Trotzdem so viel befüllen?
ask_park_couplers = Beide Kupplungen von jedem Fahrzeug abnehmen, ihre Handventile schließen, in die Halter hängen. Erledigt?
ask_change_drier = Die Leitung ist drucklos. Filtertrockner, Leitungsfilter und Dichtungen wechseln; Handschuhe und Schutzbrille tragen, lüften. Erledigt?
ask_change_pump_oil = Das warme Öl von P-1 ablassen, auf Trübung sehen, neues Öl bis zur Marke einfüllen. Erledigt?
ask_free_platform = Nachsehen, dass nichts an der Plattform lehnt und nichts darauf liegt, was nicht dorthin gehört. Erledigt?
ask_put_weight = Das bestellte Prüfgewicht ohne Stoß auf die Plattform stellen. Erledigt?
ask_take_weight = Das Gewicht wieder abnehmen. Erledigt?
ask_shut_cylinder = Die Vorratsflasche an ihrem eigenen Ventil schließen; danach wird ihr Schlauch geleert. Erledigt?
ask_change_sample_filter = Den Probenfilter von AT-1 wechseln und die Probenleitung mit trockener Luft oder Stickstoff durchblasen. Erledigt?
ask_give_test_gas = Prüfgas an den Kopf von AT-2 leiten; es wird Alarm geben. Strömt es?
ask_take_test_gas = Das Prüfgas wegnehmen und den Kopf frei werden lassen. Erledigt?
ask_pump_up_switch = Die Handpumpe an PSH-1 setzen und den Druck langsam erhöhen, nicht weiter als der Schalter verträgt, bis er öffnet. Erledigt?
ask_ease_switch = Den Druck an PSH-1 ablassen. Erledigt?
ask_change_relief_valve = Eine befugte Person tauscht PSV-1 gegen eines mit gültigem Datum, der Behälter ist abgesperrt oder leer. Erledigt?
ask_accept_loss = Was aufgezeichnet war, ist verloren. Jedes Teil gilt dann als verbraucht, jede Prüfung als fällig, und kein Code bis zur Nummer der Freigabe wird mehr angenommen. Einverstanden?
ask_change_vessel = Die Leitung steht ohne Druck. V-1 absperren und abnehmen; eine befugte Person setzt einen neuen ein: evakuiert, mit gleicher Tara, das Sicherheitsventil mit gültigem Datum, die Ventile offen. Erledigt?
ask_hang_cylinder = Beide Kupplungen sitzen auf einer externen Flasche für Mischgas, evakuiert und mit 10 L oder mehr, im Freien oder unter einer Absaugung, ihr Ventil ist offen. Erledigt?
ask_shut_mixed = Diese Flasche an ihrem eigenen Ventil schließen, ihren Inhalt kennzeichnen und sie an den Kupplungen lassen, bis die Schläuche leer sind. Erledigt?
