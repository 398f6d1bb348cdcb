### Lo que dice el controlador: avisos y preguntas.

order_started = Orden { $order } aceptada.
interrupted = La orden { $order } fue interrumpida por un corte de corriente o un reinicio; nada de ella continúa. Hasta entonces se habían cargado unos { $charged }.
refused = Rechazado: { $why }.
proving_air = Interruptor de caudal visto abierto; se barre el armario con cinco renovaciones de aire.
air_proven = La ventilación del armario está comprobada.
air_not_proven = No se pudo comprobar la ventilación: revisar el ventilador K-1 y el interruptor de caudal FSL-1.
phase_started = Empieza la fase: { $phase }.
phase_ended = Termina la fase: { $phase }. Resultado: { $outcome }.
order_ended = { $plan ->
    [met] Orden terminada.
   *[missed] Orden acabada antes de cumplir su plan.
}
paused = En pausa: todo está cerrado.
resumed = Se continúa.
tripped = Enclavamiento { $row } disparado: { $reading }. Para liberarlo: { $clear }.
cleared = Enclavamiento { $row } liberado.
low_sample_pressure = Solo { $pressure } en las mangueras: se espera antes de tomar la muestra de gas.
sampled = Muestra: { $declared } % del refrigerante declarado, { $air } % de aire.
gas = Resultado del análisis: { $gas }.
recovery_hold = Presión de { $pressure } alcanzada: se espera para ver si vuelve a subir.
recovery_restart = La presión ha vuelto a { $pressure }: se recupera de nuevo.
recovered = Recuperado: { $mass }.
air_taken = Según la presión del depósito, unos { $mass } de lo que entró son aire: dejar reposar el depósito y después purgarlo.
oil_drained = Aceite usado drenado: { $mass }.
moisture_plateau = El vacío se estanca en { $pressure }: se prolonga el vacío, puede que hierva agua.
pressure_test = Prueba de presión: la presión cayó { $fall } más de lo que explica su temperatura; menos de { $least } de más no dice nada.
nitrogen_left = El circuito puede seguir bajo presión de nitrógeno: soltarlo a mano antes de abrir un acoplador o un racor.
vacuum = El vacío termina en { $pressure }.
leak-tight = Prueba de mantenimiento del vacío: ninguna fuga por encima del límite; entrada de aire inferior a { $inflow } Pa m3/s, que equivale a una pérdida de refrigerante inferior a { $loss }. Esta prueba no habría visto menos de { $least }: mantener más tiempo o buscar bajo presión con un detector.
leak-found = Prueba de mantenimiento del vacío: { $shape ->
    [leak] subida en línea recta, una fuga
    [moisture] subida que se aplana, humedad o aceite
   *[unknown] sin juicio
}, { $inflow } Pa m3/s en su último tercio.
drying_again = El circuito está húmedo, no fuga: se hace vacío otra vez.
oil_injected = Aceite nuevo inyectado: { $mass }.
warming_vessel = Se calienta el depósito para tener presión para la carga.
charge_stall = La carga se ha detenido, faltan { $mass }.
charged = Cargado: { $mass }, descontado el contenido de las mangueras.
vessel_excess = El depósito está { $excess } por encima de la saturación.
purge_costs = Una purga expulsará unos { $mass } con el aire.
purged = Purgado: { $mass } expulsados.
static_pressure = Presiones en reposo: lado de baja { $low }, lado de alta { $high }.
drawn_in = El vehículo ha vaciado las mangueras hasta { $pressure }.
hoses_cleared = Las mangueras contenían { $mass }.
hoses_hold = Mangueras y colector pueden contener hasta { $mass }: cerrar los dos acopladores y ordenar un vaciado de mangueras antes de quitarlos.
vehicle_holds = El vehículo recibió { $mass }, { $off } { $side ->
    [less] menos
   *[more] más
} de lo ordenado.
unusual_charge = La orden carga { $ordered }; para este circuito y tras lo recuperado { $side ->
    [low] lo habitual es desde { $usual }.
   *[high] lo habitual es hasta { $usual }.
}
release = Se pueden quitar los acopladores.
late_scan = Retraso: hasta { $time } ms entre dos ciclos.
unsound = { $input } no es creíble: { $why }.
sound = { $input } vuelve a ser creíble.
code_refused = El código { $part ->
    [drier] del filtro deshidratador no se acepta: { $why }. Su vida útil
    [oil] del aceite de la bomba no se acepta: { $why }. Su vida útil
   *[record] del registro perdido no se acepta: { $why }. Su situación
} queda como estaba.
exchanged = { $part ->
    [drier] El filtro deshidratador es nuevo
    [oil] El aceite de la bomba es nuevo
   *[record] El registro vale de nuevo, con cada pieza gastada y cada prueba pendiente
}; { $by ->
    [code] su código queda gastado, ambos constan en la memoria.
   *[release] por autorización de un responsable, que queda gastada; ambos constan en la memoria.
}
not_stored = La memoria de datos no acepta lo que se le da: repararla antes de la próxima orden. Lo que ocurra ahora puede perderse con la corriente.
line_stands = La línea que se abre a continuación está a { $pressure }.
code_awaited = Introducir { $part ->
    [drier] el código que vino con el filtro secador nuevo
    [oil] el código que vino con el aceite de bomba nuevo
   *[record] la autorización que un responsable tiene para este registro
}.
weight_off = Con la pesa de referencia, la báscula muestra { $off } { $side ->
    [less] menos
   *[more] más
} de lo que pesa.
filled = Del cilindro entraron { $mass } en el depósito.
given_away = Del depósito pasaron { $mass } al cilindro externo.
vessel_holds = Según la báscula en reposo, el depósito contiene { $mass }.
worn = { $part ->
    [drier] El filtro secador
   *[oil] El aceite de bomba
} ha gastado el { $share } % de su vida: tener el recambio a mano.

## Preguntas

ask_purge = ¿Purgar el depósito a ese precio?
ask_sample_filter = ¿Está el filtro de muestras libre de aceite?
ask_circuit_opened = El circuito no se recuperó. ¿Se abrió, de modo que no contiene refrigerante, y se le puede hacer vacío?
ask_fill_nitrogen = Llenar el circuito en el vehículo con nitrógeno seco hasta la presión ordenada, a través de un regulador, y cerrar la botella. ¿Hecho?
ask_release_by_hand = El circuito contiene aire o nitrógeno a presión. Soltarlo despacio a mano en el vehículo, lejos de caras y llamas. ¿Hecho?
ask_vehicle_compressor = La carga se ha detenido. Poner en marcha el aire acondicionado del vehículo; ¿va la carga solo al lado de baja?
ask_draw_in = Cerrar el acoplador de alta y poner en marcha el aire acondicionado del vehículo, para que aspire lo que contienen las mangueras. ¿Hecho?
ask_shut_couplers = Cerrar a mano los dos acopladores en el vehículo, parar su aire acondicionado y después confirmar.
ask_unusual_charge = Comparar esta carga con la etiqueta del vehículo. ¿Cargar tanto de todos modos?
ask_park_couplers = Retirar los dos acopladores de todo vehículo, cerrar sus válvulas manuales y colgarlos en sus soportes. ¿Hecho?
ask_change_drier = La línea está sin presión. Cambiar filtro secador, filtros de línea y juntas; guantes y gafas, ventilar. ¿Hecho?
ask_change_pump_oil = Vaciar el aceite caliente de P-1, mirar si está turbio y llenar con aceite nuevo hasta la marca. ¿Hecho?
ask_free_platform = Ver que nada se apoye en la plataforma ni haya encima nada ajeno. ¿Hecho?
ask_put_weight = Poner sin golpe la pesa de referencia pedida sobre la plataforma. ¿Hecho?
ask_take_weight = Retirar la pesa. ¿Hecho?
ask_shut_cylinder = Cerrar el cilindro en su propia válvula; después se vacía su manguera. ¿Hecho?
ask_change_sample_filter = Cambiar el filtro de muestra de AT-1 y soplar su línea con aire seco o nitrógeno. ¿Hecho?
ask_give_test_gas = Llevar gas de prueba al cabezal de AT-2; sonarán alarmas. ¿Fluye?
ask_take_test_gas = Retirar el gas de prueba y dejar que el cabezal se despeje. ¿Hecho?
ask_pump_up_switch = Poner la bomba manual en PSH-1 y subir la presión despacio, sin pasar de lo que soporta el presostato, hasta que abra. ¿Hecho?
ask_ease_switch = Soltar la presión en PSH-1. ¿Hecho?
ask_change_relief_valve = Una persona habilitada cambia PSV-1 por una con fecha vigente, con el depósito aislado o vacío. ¿Hecho?
ask_accept_loss = Lo que el registro guardaba se ha perdido. Cada pieza contará como gastada, cada prueba como pendiente, y ningún código hasta el número de la autorización se aceptará ya. ¿De acuerdo?
ask_change_vessel = La línea está sin presión. Cerrar V-1 y retirarlo; una persona habilitada pone uno nuevo: evacuado, con la misma tara, su válvula de seguridad con fecha vigente, sus válvulas abiertas. ¿Hecho?
ask_hang_cylinder = Los dos acopladores están en un cilindro externo para gas mezclado, evacuado y de 10 L o más, al aire libre o bajo extracción, con su válvula abierta. ¿Hecho?
ask_shut_mixed = Cerrar ese cilindro en su propia válvula, marcar lo que contiene y dejarlo en los acopladores hasta que las mangueras estén vacías. ¿Hecho?
