### Disparos: qué disparó una fila, como final de frase, y qué mira cada causa.

trip-latched = memorizado de antes, su causa ha desaparecido
trip-bad = { $what }: la entrada es mala
trip-bad_last = { $what }: la entrada es mala, último valor bueno { $value }
trip-state = { $what }
trip-standing = { $what }, lectura { $value }
trip-reading = { $what } { $value }
trip-high = { $what } { $value }, dispara a partir de { $limit }
trip-low = { $what } { $value }, dispara por debajo de { $limit }
trip-over = { $what } { $value }, dispara a { $limit }

## Lecturas que no son magnitudes de la pantalla

level-gas = { $share } % LIE
level-fill = { $share } % del límite de llenado
level-current = { $value } A
level-speed = { $value } rpm
level-voltage = { $value } V

## Lo que mira una causa, o el estado que dice

watch-cabinet_gas = gas en el armario (AT-2)
watch-vessel_fill = masa del depósito (WT-1)
watch-vessel_pressure = presión del depósito (PT-1)
watch-discharge_switch = el presostato de descarga (PSH-1) está abierto
watch-identity = ningún análisis válido en esta conexión
watch-purge_leave = ningún depósito reposado y estable con aire dentro
watch-charge_flow = el caudal de carga no encaja con su modelo
watch-charge_scale = la báscula del depósito (WT-1) se sacude o es mala
watch-late_scan = un ciclo llegó tarde
watch-separator_level = el interruptor de nivel del separador (LS-2) está abierto: el líquido está alto
watch-pump_admission = la mayor presión de las mangueras (PT-2, PT-3)
watch-unrecovered = nada dice que el circuito no contenga refrigerante
watch-hoses_rise = las presiones de las mangueras (PT-2, PT-3) no se han mantenido un minuto
watch-heater_cover = masa del depósito sobre el calefactor (WT-1)
watch-heater_skin = superficie del calefactor (TT-3)
watch-heater_effect = la pared del depósito (TT-1) no se calienta bajo el calefactor
watch-discharge_temperature = temperatura de descarga (TT-2)
watch-suction = la menor presión de las mangueras (PT-2, PT-3)
watch-motor_current = corriente del motor de C-1 (IT-1)
watch-leak_verdict = ninguna prueba de estanqueidad superada en esta conexión
watch-effect = corriente, presión o masa no siguió una orden
watch-scale_creep = la báscula del depósito (WT-1) se movió con todas las vías cerradas
watch-scale_lost = la báscula del depósito (WT-1) se ha perdido
watch-separator_pressure = presión del separador (PT-5)
watch-oil_bottle = el interruptor de la botella de aceite usado (LS-1) está abierto: la botella está llena
watch-bridges_apart = diferencia entre los puentes de la báscula del depósito (WT-1A, WT-1B)
watch-fan_speed = velocidad del ventilador del armario (ST-1)
watch-heater_welded = el calefactor (TT-3) se calienta con un contactor (H-1, H-2) desconectado
watch-pump_inlet_switch = el presostato a la entrada de P-1 (PSH-2) está abierto
watch-pump_valve_stuck = XV-6 no cerró: PSH-2 detrás de ella está abierto
watch-air_flow = el interruptor de caudal de aire (FSL-1) está abierto: no hay ventilación
watch-door = la puerta de servicio (ZS-1) está abierta
watch-air_proof = la ventilación aún no está comprobada
watch-line_locked = XV-1 y XV-2 están cerradas en una línea de carga que puede contener líquido
watch-draws_air = la recuperación aspiró aire
watch-charge_unconfirmed = una carga fuera de lo habitual no está confirmada por segunda vez
watch-charge_beyond = el depósito (WT-1) ha dado más de lo ordenado
watch-oil_voltage = nada dice que el vehículo no tenga compresor de alta tensión
watch-identifier_unsound = no consta que el analizador (AT-1) esté en buen estado
watch-purge_spent = la válvula de purga (XV-7) ya tuvo su tiempo de este día
watch-purge_loss = el depósito (WT-1) perdió más de 20 g en una apertura de XV-7
watch-relief_near = presión del depósito (PT-1) cerca de su válvula de seguridad
watch-vessel_loses = el depósito (WT-1) sigue perdiendo masa con todas las vías cerradas
watch-hose_falls = una manguera (PT-2, PT-3) cae a más de 1 bar/s sin que nada aspire de ella
watch-couplers_off = un acoplador se soltó (ZS-2) durante el trabajo o con presión en las mangueras (PT-2, PT-3)
watch-stop_pressed = la parada de emergencia (HS-1) está pulsada
watch-stop_disagrees = los canales de la parada de emergencia (HS-1) no coinciden
watch-coils = las bobinas llevan otra corriente que la ordenada
watch-span_moved = la pendiente de la báscula del depósito no es la registrada
watch-upkeep = el filtro deshidratador (WQI-1) o el aceite de la bomba (KQI-1) está en su límite
watch-unlocking = una sustitución se interrumpió entre su código y su nueva vida útil
watch-store_lost = la memoria de datos (NV-1) no da nada creíble
watch-wall_clock = el reloj (KT-1) saltó, retrocedió o está parado
watch-restarted = el controlador se bloqueó o fue reiniciado por su perro guardián
watch-tick_rate = la base de tiempo (KT-2) y el otro oscilador difieren en más del 2,5 %
watch-self_check = falló una autocomprobación de la placa, o la alimentación de válvulas no siguió a su relé al encender
watch-stale_image = las entradas son las de un ciclo anterior
watch-proof_due = una prueba periódica está atrasada
watch-supply_low = alimentación (ET-1)
watch-rail_low = alimentación de válvulas (ET-2)
watch-starts_again = tres arranques con menos de un minuto entre ellos
