### Einheiten, die Wörter sind oder nicht überall gleich geschrieben werden. Das Englische steht bei der Anzeige.

unit-bar_abs = bar abs
unit-bar_gauge = bar rel
unit-mbar_abs = mbar abs
unit-mbar_over = mbar über Luftdruck
unit-psi_abs = psi abs
unit-psi_gauge = psi rel
unit-psi_over = psi über Luftdruck
unit-celsius = °C
unit-fahrenheit = °F
unit-gram_year = g/Jahr
unit-ounce_year = oz/Jahr
