### Phases, résultat de l'analyse, comment et pourquoi une phase s'est terminée, comme fin de phrase ; et pourquoi une mesure est mauvaise.

phase-purge = purge des incondensables
phase-identify = analyse du fluide
phase-recover = récupération
phase-drain_oil = vidange de l'huile usée
phase-pressure_test = épreuve de pression
phase-evacuate = tirage au vide
phase-leak_check = contrôle d'étanchéité
phase-inject_oil = injection d'huile
phase-charge = charge
phase-verify = contrôle final
phase-clear_hoses = vidange des flexibles
phase-upkeep = entretien

gas-unknown = gaz non identifié
gas-pure = gaz pur
gas-air = gaz mêlé de trop d'air
gas-foreign = gaz étranger
gas-flammable = gaz étranger et inflammable (hydrocarbure)
gas-inconclusive = analyse non concluante

outcome-done = fait
outcome-skipped = sauté : { $why }
outcome-aborted = arrêt par l'opérateur

broken-under = son courant est inférieur à 3,6 mA, comme par un fil coupé
broken-over = son courant est supérieur à 21 mA, comme par un court-circuit
broken-frozen = il reste figé là où un capteur vivant bougerait
broken-rail = son convertisseur est en bout de plage
broken-noisy = il est depuis des secondes trop agité pour mesurer quoi que ce soit
broken-old = aucune valeur n'est venue depuis une demi-seconde
broken-contradicted = d'autres mesures le contredisent

## Pourquoi une phase a été abandonnée, et que faire

reason-not_coupled = les coupleurs ne sont pas sur le véhicule ; raccorder les deux
reason-reading_bad = une mesure indispensable est mauvaise ; voir la liste des entrées et réparer le transmetteur
reason-scale_unsteady = la balance du réservoir ne s'est pas stabilisée ; écarter mains et flexibles du plateau
reason-pressure_too_low = trop peu de pression pour prélever un échantillon ; faire tourner la climatisation ou réchauffer le véhicule
reason-pressure_too_high = la pression aux flexibles est trop haute ; laisser refroidir le circuit ou récupérer d'abord
reason-sample_filter_oily = huile dans le filtre d'échantillonnage ; le remplacer et vidanger la ligne d'échantillonnage
reason-identifier_unsure = l'analyseur n'a pas donné deux échantillons concordants ; contrôler son filtre et son raccord
reason-gas_refused = résultat de l'analyse : { $gas } ; il ne doit pas aller dans le réservoir, prendre une bouteille à part
reason-refusal_stands = résultat d'échantillons précédents sur ce raccordement : { $gas } ; déposer les coupleurs, chercher la cause et recommencer
reason-no_identity = pas d'analyse valable sur ce raccordement dans les dix dernières minutes ; analyser d'abord
reason-vessel_full = le réservoir est à sa limite de remplissage ; transférer du fluide dans une autre bouteille
reason-recovery_timeout = la pression finale n'a pas été atteinte à temps ; chercher un coupleur fermé ou un compresseur usé
reason-nothing_to_recover = le circuit contient de l'air ou de l'azote et pas de fluide
reason-draws_air = l'air entre aussi vite que le gaz est aspiré : le circuit est ouvert ou fuit largement, chercher la fuite
reason-keeps_rising = la pression remonte sans cesse ; liquide ou huile dégazent encore, un coupleur laisse passer, ou de l'air entre par une fuite
reason-pressure_for_vacuum = la pression aux flexibles est trop haute pour la pompe à vide ; récupérer d'abord, ou détendre l'air ou l'azote à la main
reason-not_recovered = le circuit peut contenir du fluide, que la pompe à vide rejetterait ; analyser et récupérer d'abord
reason-holds_refrigerant = le circuit contient encore environ { $mass } de fluide gazeux, et peut-être plus dans son huile ; ordonner d'abord analyse et récupération
reason-not_released = le circuit est encore à { $pressure } ; détendre son air ou son azote à la main et recommencer
reason-test_pressure = la pression d'épreuve est de { $pressure } et non celle de l'ordre ; remplir ou détendre et recommencer
reason-pressure_falls = la pression d'épreuve a baissé de { $fall } de plus que sa température ne l'explique : une fuite ; la chercher au détecteur ou à la bombe de détection, réparer et refaire l'épreuve
reason-no_vacuum = le vide n'est pas atteint ; le circuit est ouvert ou fuit largement, chercher la fuite
reason-gauge_not_live = le vacuomètre n'a pas bougé quand il le devait ; contrôler PT-4
reason-pump_shallow = P-1 seule, sur le collecteur fermé, ne descend pas sous { $pressure } : son huile est humide ou usée, ou PT-4 indique trop ; changer l'huile et, si cela ne suffit pas, comparer PT-4 à un autre vacuomètre
reason-leaks = la pression monte en ligne droite ; chercher et réparer la fuite avant de charger
reason-leak_stands = une tenue du vide précédente sur ce raccordement a trouvé une fuite ; la réparer, puis tirer au vide avant le prochain contrôle d'étanchéité
reason-still_wet = l'humidité n'est pas exclue : la pression monte et s'aplatit, le tirage au vide n'a pas atteint son niveau, ou il fait trop froid pour que la glace se montre ; tirer au vide plus longtemps ou plus au chaud
reason-too_shallow = la pression monte après un bref tirage au vide qui a fini à { $pressure } : une fuite, ou ce que l'huile et le liquide dégazent encore ; tirer au vide dix minutes ou plus et contrôler de nouveau
reason-no_leak_verdict = pas de contrôle d'étanchéité réussi sur ce raccordement dans les trente dernières minutes
reason-not_reached = pas commencé, car la phase « { $phase } » qui précède n'a pas été réussie
reason-vessel_low = le réservoir peut donner { $gives } sur les { $needs } que demande cette charge ; remplir le réservoir
reason-no_room = le réservoir a de la place pour { $room }, le véhicule peut contenir { $needs } ; transférer du fluide dans une autre bouteille
reason-charge_stalled = la charge ne passait plus et rien ne l'a rétablie ; refroidir le véhicule ou réchauffer le réservoir
reason-declined = l'opérateur a dit non
reason-blocked = un verrouillage ou une autorisation manquante l'a retenue dix minutes ; voir dans la table des verrouillages ce qu'elle attend
reason-not_rested = le réservoir n'a pas reposé quatre heures, paroi et air à 2 K près
reason-nothing_to_purge = pas d'air qui vaille une purge
reason-purge_loss_limit = la purge s'est arrêtée à sa limite de fluide perdu ; laisser reposer le réservoir au frais et recommencer
reason-pulses_spent = ce qui a été purgé n'a pas fait baisser l'excédent ; comparer PT-1 et TT-1 à une référence, voir si XV-7 et son restricteur sont libres, puis laisser reposer le réservoir et recommencer
reason-not_ordered = rien d'ordonné
reason-high_voltage = pas d'huile dans un compresseur haute tension sans preuve de rinçage
reason-no_oil = la bouteille d'huile neuve ne donne rien ; la remplir et contrôler sa ligne
reason-oil_bottle_full = la bouteille d'huile usée est pleine ; la vider
reason-separator_pressure = le séparateur (PT-5) est à { $pressure }, trop pour ouvrir sa vidange (I17) ; récupérer ou vider les flexibles d'abord
reason-gauges_disagree = le séparateur (PT-5) indique plus que les flexibles (PT-2, PT-3) qui l'alimentent ; comparer les capteurs et réparer celui qui dévie
reason-hoses_disagree = les capteurs des flexibles sont sur un même circuit et ne concordent pas, PT-2 à { $low } et PT-3 à { $high } ; rien n'a été jugé d'après eux : comparer les deux à un troisième, réparer celui qui dévie et recommencer
reason-pressure_implausible = les pressions au repos ne vont pas avec la température ambiante ; contrôler la charge et les capteurs
reason-no_answer = aucune réponse n'est venue à temps
reason-took_too_long = elle a duré plus qu'une telle phase ne le peut ; voir dans ses messages ce qu'elle attendait
reason-trips_again = des verrouillages se sont déclenchés et levés sans cesse ; voir lesquels dans la liste des déclenchements et supprimer la cause
reason-scale_disagrees = la balance du réservoir montre l'impossible ; libérer son plateau, la contrôler avec un poids, récupérer et peser cette charge
reason-overcharged = le véhicule contient { $mass } de plus que l'ordre ; récupérer et charger de nouveau
reason-undercharged = le véhicule contient { $mass } de moins que l'ordre ; récupérer et charger de nouveau
reason-couplers_moved = les coupleurs ont été bougés, ou pas surveillés pendant dix secondes : ce qu'on savait du véhicule ne vaut plus ; les flexibles peuvent encore contenir du fluide, raccorder et recommencer
reason-line_loaded = elle est sous pression, { $pressure } : vider les flexibles ou récupérer d'abord ; rien n'a été ouvert
reason-weight_off = la balance montre le poids de référence { $off } { $side ->
    [less] trop léger
   *[more] trop lourd
} ; vérifier le poids et dégager la plateforme, sinon faire réparer le pont ; rien n'a été réglé
reason-no_return = le poids retiré, la balance ne revient pas à sa valeur, écart { $off } ; dégager la plateforme et recommencer ; rien n'a été réglé
reason-not_proven = l'élément essayé n'a pas réagi à temps ; le réparer et recommencer ; l'essai reste dû
reason-not_stored = la mémoire n'a pas pris le résultat ; la réparer et recommencer
reason-record_sound = l'enregistrement est sain ; il n'y a rien à rétablir
reason-not_evacuated = le nouveau réservoir est à { $pressure } : il n'est pas arrivé sous vide, ou il fuit ; le tirer au vide et recommencer
reason-flush_short = { $mass } de ce qui a rincé les flexibles ne sont pas revenus ; voir si les deux coupleurs sont étanches sur la prise, laisser bouillir le séparateur, puis recommencer
reason-cylinder_full = les flexibles restent à { $pressure } : la bouteille externe est fermée ou n'était pas sous vide ; l'ouvrir ou en prendre une vide
