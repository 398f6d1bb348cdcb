### Unités qui sont des mots ou ne s'écrivent pas partout de même. L'anglais est dans l'affichage.

unit-bar_abs = bar abs
unit-bar_gauge = bar rel
unit-mbar_abs = mbar abs
unit-mbar_over = mbar au-dessus de la pression atmosphérique
unit-psi_abs = psi abs
unit-psi_gauge = psi rel
unit-psi_over = psi au-dessus de la pression atmosphérique
unit-celsius = °C
unit-fahrenheit = °F
unit-gram_year = g/an
unit-ounce_year = oz/an
