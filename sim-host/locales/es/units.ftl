### Unidades que son palabras o no se escriben igual en todas partes. El inglés está en la pantalla.

unit-bar_abs = bar abs
unit-bar_gauge = bar rel
unit-mbar_abs = mbar abs
unit-mbar_over = mbar sobre la presión atmosférica
unit-psi_abs = psi abs
unit-psi_gauge = psi rel
unit-psi_over = psi sobre la presión atmosférica
unit-celsius = °C
unit-fahrenheit = °F
unit-gram_year = g/año
unit-ounce_year = oz/año
