### Fases, resultado del análisis, cómo y por qué acabó una fase, como final de frase; y por qué una medida es mala.

phase-purge = purga de no condensables
phase-identify = análisis del refrigerante
phase-recover = recuperación
phase-drain_oil = drenaje de aceite usado
phase-pressure_test = prueba de presión
phase-evacuate = vacío
phase-leak_check = prueba de estanqueidad
phase-inject_oil = inyección de aceite
phase-charge = carga
phase-verify = comprobación final
phase-clear_hoses = vaciado de mangueras
phase-upkeep = mantenimiento

gas-unknown = gas sin identificar
gas-pure = gas puro
gas-air = gas mezclado con demasiado aire
gas-foreign = gas extraño
gas-flammable = gas extraño e inflamable (hidrocarburo)
gas-inconclusive = análisis no concluyente

outcome-done = hecho
outcome-skipped = omitido: { $why }
outcome-aborted = acabado por el operador

broken-under = su corriente es inferior a 3,6 mA, como con un hilo roto
broken-over = su corriente es superior a 21 mA, como con un cortocircuito
broken-frozen = está quieto donde uno vivo se movería
broken-rail = su convertidor está al final de su margen
broken-noisy = lleva segundos demasiado agitado para medir nada
broken-old = no ha llegado ningún valor en medio segundo
broken-contradicted = otras medidas lo contradicen

## Por qué se abandonó una fase, y qué hacer

reason-not_coupled = los acopladores no están en el vehículo; conectar los dos
reason-reading_bad = una medida imprescindible es mala; ver la lista de entradas y reparar el transmisor
reason-scale_unsteady = la báscula del depósito no se estabilizó; apartar manos y mangueras de la plataforma
reason-pressure_too_low = muy poca presión para tomar una muestra de gas; poner en marcha el aire acondicionado o calentar el vehículo
reason-pressure_too_high = la presión de las mangueras es demasiado alta; dejar enfriar el circuito o recuperar primero
reason-sample_filter_oily = aceite en el filtro de muestras; cambiarlo y drenar la línea de muestras
reason-identifier_unsure = el analizador no dio dos muestras que coincidan; revisar su filtro y su conexión
reason-gas_refused = resultado del análisis: { $gas }; no debe entrar en el depósito, usar una botella aparte
reason-refusal_stands = resultado de muestras anteriores en esta conexión: { $gas }; quitar los acopladores, averiguar la causa y empezar de nuevo
reason-no_identity = ningún análisis válido en esta conexión en los últimos diez minutos; analizar primero
reason-vessel_full = el depósito está en su límite de llenado; pasar refrigerante a otra botella
reason-recovery_timeout = la presión final no se alcanzó a tiempo; buscar un acoplador cerrado o un compresor gastado
reason-nothing_to_recover = en el circuito hay aire o nitrógeno y ningún refrigerante
reason-draws_air = entra aire tan deprisa como se extrae gas: el circuito está abierto o tiene una fuga grande, buscar la fuga
reason-keeps_rising = la presión vuelve una y otra vez; líquido o aceite siguen soltando gas, un acoplador deja pasar, o entra aire por una fuga
reason-pressure_for_vacuum = la presión de las mangueras es demasiado alta para la bomba de vacío; recuperar primero, o soltar el aire o el nitrógeno a mano
reason-not_recovered = el circuito puede contener refrigerante, que la bomba de vacío expulsaría; analizar y recuperar primero
reason-holds_refrigerant = el circuito contiene aún unos { $mass } de refrigerante como gas, y quizá más en su aceite; ordenar primero análisis y recuperación
reason-not_released = el circuito sigue a { $pressure }; soltar a mano su aire o nitrógeno y empezar de nuevo
reason-test_pressure = la presión de prueba es { $pressure } y no la ordenada; llenar o soltar y empezar de nuevo
reason-pressure_falls = la presión de prueba cayó { $fall } más de lo que explica su temperatura: una fuga; buscarla con detector o espuma, repararla y probar de nuevo
reason-no_vacuum = no se alcanza el vacío; el circuito está abierto o tiene una fuga grande, buscar la fuga
reason-gauge_not_live = el vacuómetro no se movió cuando debía; revisar PT-4
reason-pump_shallow = P-1 sola, con el colector cerrado, no baja de { $pressure }: su aceite está húmedo o gastado, o PT-4 indica de más; cambiar el aceite y, si no ayuda, comparar PT-4 con otro vacuómetro
reason-leaks = la presión sube en línea recta; buscar y reparar la fuga antes de cargar
reason-leak_stands = una prueba de vacío anterior en esta conexión halló una fuga; repararla y después hacer vacío antes de la próxima prueba de estanqueidad
reason-still_wet = no se descarta humedad: la presión sube y se aplana, el vacío no alcanzó su nivel, o hace demasiado frío para que se note el hielo; hacer vacío más tiempo o con más calor
reason-too_shallow = la presión sube tras un vacío corto que terminó en { $pressure }: una fuga, o lo que aceite y líquido aún sueltan; hacer vacío diez minutos o más y comprobar de nuevo
reason-no_leak_verdict = ninguna prueba de estanqueidad superada en esta conexión en los últimos treinta minutos
reason-not_reached = sin empezar, porque la fase anterior «{ $phase }» no se superó
reason-vessel_low = el depósito puede dar { $gives } de los { $needs } que pide esta carga; llenar el depósito
reason-no_room = el depósito tiene sitio para { $room }, el vehículo puede contener { $needs }; pasar refrigerante a otra botella
reason-charge_stalled = la carga se detuvo y nada la restableció; enfriar el vehículo o calentar el depósito
reason-declined = el operador dijo que no
reason-blocked = un enclavamiento o un permiso la retuvo diez minutos; ver en la tabla de enclavamientos a qué espera
reason-not_rested = el depósito no ha reposado cuatro horas, con pared y aire a menos de 2 K
reason-nothing_to_purge = ningún aire que valga una purga
reason-purge_loss_limit = la purga se detuvo en su límite de refrigerante perdido; dejar reposar el depósito en un lugar frío y repetir
reason-pulses_spent = lo purgado no bajó el exceso; comparar PT-1 y TT-1 con una referencia, ver si XV-7 y su restrictor están libres, después dejar reposar el depósito y repetir
reason-not_ordered = nada ordenado
reason-high_voltage = nada de aceite en un compresor de alta tensión sin constancia de lavado
reason-no_oil = la botella de aceite nuevo no da nada; llenarla y revisar su línea
reason-oil_bottle_full = la botella de aceite usado está llena; vaciarla
reason-separator_pressure = el separador (PT-5) está a { $pressure }, demasiado para abrir su drenaje (I17); recuperar o vaciar las mangueras primero
reason-gauges_disagree = el separador (PT-5) marca más que las mangueras (PT-2, PT-3) que lo alimentan; comparar los transmisores y reparar el que se desvía
reason-hoses_disagree = los transmisores de las mangueras están en un mismo circuito y no coinciden, PT-2 a { $low } y PT-3 a { $high }; nada se juzgó por ellos: comparar los dos con un tercero, reparar el que se desvía y empezar de nuevo
reason-pressure_implausible = las presiones en reposo no encajan con la temperatura ambiente; revisar la carga y los transmisores
reason-no_answer = no llegó respuesta a tiempo
reason-took_too_long = duró más de lo que una fase así puede; ver en sus avisos a qué esperaba
reason-trips_again = los enclavamientos se dispararon y se liberaron una y otra vez; ver cuáles en la lista de disparos y eliminar la causa
reason-scale_disagrees = la báscula del depósito muestra lo imposible; liberar su plataforma, comprobarla con un peso, y recuperar y pesar esta carga
reason-overcharged = el vehículo contiene { $mass } más de lo ordenado; recuperar y cargar de nuevo
reason-undercharged = el vehículo contiene { $mass } menos de lo ordenado; recuperar y cargar de nuevo
reason-couplers_moved = los acopladores se movieron, o no se vigilaron durante diez segundos: lo que se sabía del vehículo ya no vale; las mangueras pueden contener aún refrigerante, conectar y empezar de nuevo
reason-line_loaded = hay presión en ella, { $pressure }: vaciar antes las mangueras o recuperar; no se abrió nada
reason-weight_off = la báscula muestra la pesa de referencia { $off } { $side ->
    [less] de menos
   *[more] de más
}; buscar la pesa correcta y despejar la plataforma, si no, reparar el puente; no se ajustó nada
reason-no_return = sin la pesa la báscula no vuelve a su valor, por { $off }; despejar la plataforma y empezar de nuevo; no se ajustó nada
reason-not_proven = lo probado no lo mostró a tiempo; repararlo y probar de nuevo; la prueba sigue pendiente
reason-not_stored = la memoria no tomó el resultado; repararla y empezar de nuevo
reason-record_sound = el registro está sano; no hay nada que restaurar
reason-not_evacuated = el depósito nuevo está a { $pressure }: no vino evacuado, o fuga; evacuarlo y empezar de nuevo
reason-flush_short = { $mass } de lo que lavó las mangueras no volvieron; ver si ambos acoples cierran bien en la toma, dejar hervir el separador y empezar de nuevo
reason-cylinder_full = las mangueras se quedan a { $pressure }: el cilindro externo está cerrado o no venía evacuado; abrirlo o traer uno vacío
