### El comprobante de un servicio. Los nombres van a la izquierda de una cifra en papel de 32 columnas: cortos, caben en la línea.

paper-title = Comprobante de servicio
paper-uncertified = Estación simulada, diseño no certificado: no prueba ningún trabajo en un vehículo real.
paper-clock = Hora simulada: la simulación empieza a las 00:00.

## Cómo terminó la orden

paper-headline_pass = Completado
paper-headline_refused = NO COMPLETADO: rechazado por la estación
paper-headline_failed = NO COMPLETADO: fallido
paper-headline_aborted = NO COMPLETADO: terminado por el operador
paper-headline_unfinished = NO COMPLETADO: interrumpido
paper-cut_off = Interrumpido antes del final; lo que consta aquí se comunicó hasta entonces.
paper-what_if = Supuesto: se omitieron filas de enclavamiento:
paper-own_word = Conducido por otro controlador que el núcleo: todo esto es su propia palabra.
paper-reason = Motivo
paper-no_reason = la estación no lo dijo

## Nombres

paper-record = Registro
paper-job = Orden
paper-begun = Inicio
paper-ended = Fin
paper-station = Estación
paper-operator = Operador
paper-not_named = no indicado
paper-vehicle = Vehículo
paper-vehicle_id = Referencia
paper-refrigerant = Refrigerante
paper-label = Etiqueta
paper-high_voltage = alta tensión
paper-masses = Masas
paper-recovered = Recuperado
paper-oil_drained = Aceite usado
paper-oil_new = Aceite nuevo
paper-oil_kind = Aceite de la estación
paper-ordered = Ordenado
paper-charged = Cargado
paper-purged = Purgado
paper-findings = Resultados
paper-gas = Análisis del gas
paper-vacuum = Vacío
paper-leak = Prueba de estanqueidad
paper-hoses = Mangueras
paper-none = ninguno
paper-not_said = no comunicado
paper-not_ordered = no ordenado
paper-not_checked = no comprobado
paper-lapsed = Un mantenimiento del vacío anterior ya no cuenta: no comprobado.
paper-phases = Fases
paper-warnings = Avisos
paper-trips = Enclavamientos
paper-cautions = Precauciones

## Cómo terminó una fase

paper-outcome_pass = hecho
paper-outcome_failed = fallido
paper-outcome_refused = rechazado
paper-outcome_aborted = terminado
paper-outcome_skipped = omitido
paper-outcome_unfinished = interrumpido

## Qué fue de un disparo

paper-released = Liberado tras { $time } s.
paper-stands = Seguía activo al terminar la orden. Para liberarlo: { $clear }.

## Precauciones

paper-caution_gas = El gas puede ser inflamable: sin llamas ni chispas, ventilar el local.
paper-caution_pressure = Circuito, mangueras y depósito están a presión: gafas y guantes.
paper-caution_hold = El mantenimiento del vacío es una prueba gruesa: no demuestra que el circuito sea estanco.
paper-caution_licence = Esto no sustituye la normativa local ni el trabajo autorizado.

## Un comprobante impreso de nuevo desde la memoria de la estación

paper-reprint = Reimpresión de un registro de la memoria de la estación. Horas según el reloj de la estación.
paper-not_kept = no se guarda en el registro
