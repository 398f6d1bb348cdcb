### Por qué se rechazó una orden del operador, como final de frase, y los campos de una orden.

refusal-busy = hay una orden en marcha; cancelarla o esperar
refusal-repeated_id = este arranque ya se dio antes; no se hace dos veces
refusal-nothing_ordered = la orden no nombra ninguna fase
refusal-out_of_range = «{ $field }» está fuera de su margen
refusal-tripped = el enclavamiento { $row } sigue activo; eliminar su causa y después pulsar rearme
refusal-not_paused = nada está en pausa
refusal-not_running = nada está en marcha
refusal-no_question = no hay ninguna pregunta abierta
refusal-question_closed = la pregunta de esta respuesta está cerrada; leer la que está abierta ahora
refusal-nothing_to_reset = no hay nada que rearmar

## Campos

field-charge = carga
field-evacuate = tiempo de vacío
field-depth = nivel de vacío
field-leak_hold = tiempo de mantenimiento del vacío
field-circuit = volumen del circuito
field-test_over = presión de prueba
field-test_hold = tiempo de prueba
field-oil_extra = aceite adicional
