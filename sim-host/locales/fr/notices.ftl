### Ce que dit l'automate : messages et questions.

order_started = Ordre { $order } accepté.
interrupted = L'ordre { $order } a été interrompu par une coupure de courant ou un redémarrage ; rien n'en est poursuivi. La charge faite jusque-là est d'environ { $charged }.
refused = Refusé : { $why }.
proving_air = Contrôleur de débit vu ouvert ; balayage de l'enceinte par cinq renouvellements d'air.
air_proven = La ventilation de l'enceinte est prouvée.
air_not_proven = La ventilation n'a pas pu être prouvée : contrôler le ventilateur K-1 et le contrôleur de débit FSL-1.
phase_started = Début de phase : { $phase }.
phase_ended = Fin de phase : { $phase }. Résultat : { $outcome }.
order_ended = { $plan ->
    [met] Ordre terminé.
   *[missed] Ordre arrêté avant que son programme soit accompli.
}
paused = En pause : tout est fermé.
resumed = Reprise.
tripped = Verrouillage { $row } déclenché : { $reading }. Pour le lever : { $clear }.
cleared = Verrouillage { $row } levé.
low_sample_pressure = Seulement { $pressure } aux flexibles : attente avant le prélèvement de gaz.
sampled = Échantillon : { $declared } % du fluide déclaré, { $air } % d'air.
gas = Résultat de l'analyse : { $gas }.
recovery_hold = Pression de { $pressure } atteinte : attente pour voir si elle remonte.
recovery_restart = La pression est remontée à { $pressure } : la récupération reprend.
recovered = Récupéré : { $mass }.
air_taken = D'après la pression du réservoir, environ { $mass } de ce qui est entré sont de l'air : laisser reposer le réservoir, puis le purger.
oil_drained = Huile usée vidangée : { $mass }.
moisture_plateau = Le vide stagne à { $pressure } : le tirage au vide est prolongé, de l'eau bout peut-être.
pressure_test = Épreuve de pression : la pression a baissé de { $fall } de plus que sa température ne l'explique ; moins de { $least } ne prouve rien.
nitrogen_left = Le circuit peut encore être sous pression d'azote : le détendre à la main avant d'ouvrir un coupleur ou un raccord.
vacuum = Le tirage au vide finit à { $pressure }.
leak-tight = Tenue du vide : pas de fuite au-dessus de la limite ; entrée d'air inférieure à { $inflow } Pa m3/s, soit une perte de fluide inférieure à { $loss }. Cet essai n'aurait rien vu en dessous de { $least } : tenir plus longtemps, ou chercher sous pression avec un détecteur.
leak-found = Tenue du vide : { $shape ->
    [leak] montée en ligne droite, une fuite
    [moisture] montée qui s'aplatit, humidité ou huile
   *[unknown] non jugée
}, { $inflow } Pa m3/s dans le dernier tiers.
drying_again = Le circuit est humide, il ne fuit pas : nouveau tirage au vide.
oil_injected = Huile neuve injectée : { $mass }.
warming_vessel = Chauffage du réservoir, afin d'avoir de la pression pour la charge.
charge_stall = La charge ne passe plus, il manque { $mass }.
charged = Chargé : { $mass }, contenu des flexibles déduit.
vessel_excess = Le réservoir est { $excess } au-dessus de la saturation.
purge_costs = Une purge rejettera environ { $mass } avec l'air.
purged = Purgé : { $mass } rejetés.
static_pressure = Pressions au repos : côté basse pression { $low }, côté haute pression { $high }.
drawn_in = Le véhicule a vidé les flexibles jusqu'à { $pressure }.
hoses_cleared = Les flexibles contenaient { $mass }.
hoses_hold = Flexibles et collecteur peuvent contenir jusqu'à { $mass } : fermer les deux coupleurs et ordonner une vidange des flexibles avant de les déposer.
vehicle_holds = Le véhicule a reçu { $mass }, soit { $off } { $side ->
    [less] de moins
   *[more] de plus
} que l'ordre.
unusual_charge = L'ordre demande une charge de { $ordered } ; pour ce circuit et après ce qui a été récupéré, { $side ->
    [low] la charge habituelle est d'au moins { $usual }.
   *[high] la charge habituelle est d'au plus { $usual }.
}
release = Les coupleurs peuvent être déposés.
late_scan = Retard : jusqu'à { $time } ms entre deux cycles.
unsound = { $input } n'est pas crédible : { $why }.
sound = { $input } est de nouveau crédible.
code_refused = Le code { $part ->
    [drier] du filtre déshydrateur n'est pas accepté : { $why }. Sa durée de vie
    [oil] de l'huile de pompe n'est pas accepté : { $why }. Sa durée de vie
   *[record] de l'enregistrement perdu n'est pas accepté : { $why }. Sa situation
} reste ce qu'elle était.
exchanged = { $part ->
    [drier] Le filtre déshydrateur est neuf
    [oil] L'huile de pompe est neuve
   *[record] L'enregistrement vaut de nouveau, chaque pièce comptant comme usée et chaque essai comme dû
} ; { $by ->
    [code] le code est utilisé, les deux sont enregistrés.
   *[release] par l'autorisation d'un responsable, qui est utilisée ; les deux sont enregistrés.
}
not_stored = La mémoire des données n'accepte pas ce qu'on lui donne : la réparer avant le prochain ordre. Ce qui se passe maintenant peut être perdu avec le courant.
line_stands = La conduite qui sera ouverte ensuite est à { $pressure }.
code_awaited = Saisir { $part ->
    [drier] le code livré avec le nouveau filtre déshydrateur
    [oil] le code livré avec la nouvelle huile de pompe
   *[record] l'autorisation qu'un responsable a pour cet enregistrement
}.
weight_off = Avec le poids de référence, la balance montre { $off } { $side ->
    [less] de moins
   *[more] de plus
} que son poids.
filled = { $mass } sont passés de la bouteille au réservoir.
given_away = { $mass } sont passés du réservoir dans la bouteille externe.
vessel_holds = D'après la balance au repos, le réservoir contient { $mass }.
worn = { $part ->
    [drier] Le filtre déshydrateur
   *[oil] L'huile de pompe
} a consommé { $share } % de sa durée de vie : prévoir le remplacement.

## Questions

ask_purge = Purger le réservoir à ce prix ?
ask_sample_filter = Le filtre d'échantillonnage est-il exempt d'huile ?
ask_circuit_opened = Le circuit n'a pas été récupéré. A-t-il été ouvert, de sorte qu'il ne contient pas de fluide, et peut-il être tiré au vide ?
ask_fill_nitrogen = Remplir le circuit d'azote sec au véhicule, par un détendeur, jusqu'à la pression de l'ordre, et fermer la bouteille. Fait ?
ask_release_by_hand = Le circuit contient de l'air ou de l'azote sous pression. Le détendre lentement à la main au véhicule, loin des visages et des flammes. Fait ?
ask_vehicle_compressor = La charge ne passe plus. Mettre en marche la climatisation du véhicule ; la charge va-t-elle au seul côté basse pression ?
ask_draw_in = Fermer le coupleur haute pression et faire tourner la climatisation du véhicule, afin qu'elle aspire le contenu des flexibles. Fait ?
ask_shut_couplers = Fermer à la main les deux coupleurs au véhicule, arrêter sa climatisation, puis confirmer.
ask_unusual_charge = Comparer cette charge à l'étiquette du véhicule. Charger autant malgré tout ?
ask_park_couplers = Retirer les deux coupleurs de tout véhicule, fermer leurs vannes manuelles, les accrocher à leurs supports. Fait ?
ask_change_drier = La conduite est sans pression. Remplacer le filtre déshydrateur, les filtres en ligne et les joints ; gants et lunettes, aérer. Fait ?
ask_change_pump_oil = Vidanger l'huile chaude de P-1, regarder si elle est trouble, remplir d'huile neuve jusqu'au repère. Fait ?
ask_free_platform = Vérifier que rien ne s'appuie sur la plateforme et que rien d'étranger n'y est posé. Fait ?
ask_put_weight = Poser sans choc le poids de référence commandé sur la plateforme. Fait ?
ask_take_weight = Retirer le poids. Fait ?
ask_shut_cylinder = Fermer la bouteille à sa propre vanne ; son flexible sera vidé ensuite. Fait ?
ask_change_sample_filter = Remplacer le filtre d'échantillon de AT-1 et souffler sa conduite à l'air sec ou à l'azote. Fait ?
ask_give_test_gas = Amener le gaz d'essai à la tête de AT-2 ; des alarmes retentiront. Il s'écoule ?
ask_take_test_gas = Retirer le gaz d'essai et laisser la tête se dégager. Fait ?
ask_pump_up_switch = Monter la pompe à main sur PSH-1 et élever lentement la pression, sans dépasser ce que supporte le contact, jusqu'à son ouverture. Fait ?
ask_ease_switch = Relâcher la pression sur PSH-1. Fait ?
ask_change_relief_valve = Une personne habilitée remplace PSV-1 par une soupape en cours de validité, réservoir isolé ou vide. Fait ?
ask_accept_loss = Ce qui était enregistré est perdu. Chaque pièce comptera comme usée, chaque essai comme dû, et aucun code jusqu'au numéro de l'autorisation ne sera plus accepté. D'accord ?
ask_change_vessel = La conduite est sans pression. Fermer V-1 et le déposer ; une personne habilitée en pose un neuf : tiré au vide, de même tare, sa soupape en cours de validité, ses vannes ouvertes. Fait ?
ask_hang_cylinder = Les deux coupleurs sont sur une bouteille externe pour gaz mélangé, tirée au vide, de 10 L ou plus, à l'air libre ou sous une extraction, sa vanne ouverte. Fait ?
ask_shut_mixed = Fermer cette bouteille à sa propre vanne, marquer ce qu'elle contient et la laisser sur les coupleurs jusqu'à ce que les flexibles soient vides. Fait ?
