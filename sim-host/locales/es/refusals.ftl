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
refusal-on_flush_port = los acoples están en la toma de lavado (ZS-3); conectarlos al vehículo
refusal-not_on_flush_port = los acoples no están en la toma de lavado (ZS-3); poner ambos en ella
refusal-not_flushed = el vehículo es de alta tensión, y las mangueras estuvieron abiertas a otro vehículo desde el último lavado; poner ambos acoples en la toma de lavado y pedir primero el lavado
refusal-hoses_foreign = en las mangueras hay un gas que no es el de esta estación; poner ambos acoples en un cilindro evacuado para gas mezclado y pedir primero la descontaminación

## Campos

field-charge = carga
field-evacuate = tiempo de vacío
field-depth = nivel de vacío
field-leak_hold = tiempo de mantenimiento del vacío
field-circuit = volumen del circuito
field-test_over = presión de prueba
field-test_hold = tiempo de prueba
field-oil_extra = aceite adicional
field-mass = masa
field-phases = lista de fases; el mantenimiento se pide solo, así que

## Por qué no se aceptó el código de una pieza

code-mistyped = está mal tecleado; compararlo con la etiqueta, signo por signo
code-other_version = es de una versión que este programa no conoce; preguntar al proveedor de la pieza
code-not_ours = no se hizo para esta estación; preguntar al proveedor de la pieza
code-of_drier = pertenece a un filtro deshidratador
code-of_oil = pertenece a una carga de aceite de la bomba
code-is_release = es la autorización de un responsable
code-used_before = ya se usó; cada pieza nueva viene con su propio código
code-too_old = es tanto más antiguo que el último que nadie puede decir si se usó; pedir una autorización a un responsable
code-wait = le precedieron demasiados códigos falsos; esperar { $time } s
code-not_stored = la memoria de datos no lo acepta, y nada se concede antes de guardarlo; reparar la memoria
