### Déclenchements : ce qui a déclenché une ligne, comme fin de phrase, et ce que chaque cause regarde.

trip-latched = mémorisé d'avant, sa cause a disparu
trip-bad = { $what } : l'entrée est mauvaise
trip-bad_last = { $what } : l'entrée est mauvaise, dernière bonne valeur { $value }
trip-state = { $what }
trip-standing = { $what }, valeur lue { $value }
trip-reading = { $what } { $value }
trip-high = { $what } { $value }, déclenche à partir de { $limit }
trip-low = { $what } { $value }, déclenche en dessous de { $limit }
trip-over = { $what } { $value }, déclenche à { $limit }

## Mesures qui ne sont pas des grandeurs de l'affichage

level-gas = { $share } % LIE
level-fill = { $share } % de la limite de remplissage
level-current = { $value } A
level-speed = { $value } tr/min
level-voltage = { $value } V

## Ce que regarde une cause, ou l'état qu'elle dit

watch-cabinet_gas = gaz dans l'enceinte (AT-2)
watch-vessel_fill = masse du réservoir (WT-1)
watch-vessel_pressure = pression du réservoir (PT-1)
watch-discharge_switch = le pressostat de refoulement (PSH-1) est ouvert
watch-identity = pas d'analyse valable du fluide sur ce raccordement
watch-purge_leave = pas de réservoir reposé et stable contenant de l'air
watch-charge_flow = le débit de charge ne suit pas son modèle
watch-charge_scale = la balance du réservoir (WT-1) est secouée ou mauvaise
watch-late_scan = un cycle est venu en retard
watch-separator_level = le contacteur de niveau du séparateur (LS-2) est ouvert : le liquide est haut
watch-pump_admission = plus haute pression des flexibles (PT-2, PT-3)
watch-unrecovered = rien ne dit que le circuit ne contient pas de fluide
watch-hoses_rise = les pressions des flexibles (PT-2, PT-3) n'ont pas été stables pendant une minute
watch-heater_cover = masse du réservoir au-dessus du chauffage (WT-1)
watch-heater_skin = surface du chauffage (TT-3)
watch-heater_effect = la paroi du réservoir (TT-1) ne se réchauffe pas sous le chauffage
watch-discharge_temperature = température de refoulement (TT-2)
watch-suction = plus basse pression des flexibles (PT-2, PT-3)
watch-motor_current = courant du moteur de C-1 (IT-1)
watch-leak_verdict = pas de contrôle d'étanchéité réussi sur ce raccordement
watch-effect = courant, pression ou masse n'a pas suivi une commande
watch-scale_creep = la balance du réservoir (WT-1) a bougé, toutes voies fermées
watch-scale_lost = la balance du réservoir (WT-1) est perdue
watch-separator_pressure = pression du séparateur (PT-5)
watch-oil_bottle = le contacteur de la bouteille d'huile usée (LS-1) est ouvert : la bouteille est pleine
watch-bridges_apart = écart des ponts de la balance du réservoir (WT-1A, WT-1B)
watch-fan_speed = vitesse du ventilateur de l'enceinte (ST-1)
watch-heater_welded = le chauffage (TT-3) chauffe avec un contacteur (H-1, H-2) coupé
watch-pump_inlet_switch = le pressostat à l'entrée de P-1 (PSH-2) est ouvert
watch-pump_valve_stuck = XV-6 ne s'est pas fermée : PSH-2 derrière elle est ouvert
watch-air_flow = le contrôleur de débit d'air (FSL-1) est ouvert : pas de ventilation
watch-door = la porte de service (ZS-1) est ouverte
watch-air_proof = la ventilation n'est pas encore prouvée
watch-line_locked = XV-1 et XV-2 sont fermées sur une ligne de charge qui peut contenir du liquide
watch-draws_air = la récupération a aspiré de l'air
watch-charge_unconfirmed = une charge inhabituelle n'est pas confirmée une deuxième fois
watch-charge_beyond = le réservoir (WT-1) a donné plus que l'ordre
watch-oil_voltage = rien ne dit que le véhicule n'a pas de compresseur haute tension
watch-identifier_unsound = le bon état de l'analyseur (AT-1) n'est pas connu
watch-purge_spent = la vanne de purge (XV-7) a épuisé son temps de la journée
watch-purge_loss = le réservoir (WT-1) a perdu plus de 20 g en une ouverture de XV-7
watch-relief_near = pression du réservoir (PT-1) près de sa soupape de sûreté
watch-vessel_loses = le réservoir (WT-1) continue de perdre de la masse, toutes voies fermées
watch-hose_falls = un flexible (PT-2, PT-3) baisse de plus de 1 bar/s sans que rien n'y aspire
watch-couplers_off = un coupleur s'est détaché (ZS-2) pendant le travail ou avec de la pression dans les flexibles (PT-2, PT-3)
watch-stop_pressed = l'arrêt d'urgence (HS-1) est enfoncé
watch-stop_disagrees = les canaux de l'arrêt d'urgence (HS-1) ne concordent pas
watch-coils = des bobines portent un autre courant que celui commandé
watch-span_moved = la pente de la balance du réservoir n'est pas celle enregistrée
watch-upkeep = le filtre déshydrateur (WQI-1) ou l'huile de pompe (KQI-1) est à sa limite
watch-unlocking = un remplacement a été interrompu entre son code et sa nouvelle durée de vie
watch-store_lost = la mémoire des données (NV-1) ne donne rien de crédible
watch-wall_clock = l'horloge (KT-1) a sauté, reculé ou s'est arrêtée
watch-restarted = l'automate s'est bloqué ou a été redémarré par son chien de garde
watch-tick_rate = la base de temps (KT-2) et l'autre oscillateur diffèrent de plus de 2,5 %
watch-self_check = un autocontrôle de la carte a échoué, ou l'alimentation des vannes n'a pas suivi son relais à la mise sous tension
watch-stale_image = les entrées sont celles d'un cycle antérieur
watch-proof_due = un essai périodique est en retard
watch-supply_low = alimentation (ET-1)
watch-rail_low = alimentation des vannes (ET-2)
watch-starts_again = trois démarrages à moins d'une minute d'écart
