### Le bon d'une intervention. Les noms sont à gauche d'un chiffre sur un papier de 32 colonnes : courts, ils tiennent sur la ligne.

paper-title = Bon d'intervention
paper-uncertified = Station simulée, conception non certifiée : aucune preuve d'un travail sur un véhicule réel.
paper-clock = Heure simulée : la simulation commence à 00:00.

## Comment l'ordre s'est terminé

paper-headline_pass = Achevé
paper-headline_refused = NON ACHEVÉ : refusé par la station
paper-headline_failed = NON ACHEVÉ : échec
paper-headline_aborted = NON ACHEVÉ : arrêté par l'opérateur
paper-headline_unfinished = NON ACHEVÉ : interrompu
paper-cut_off = Interrompu avant la fin ; ce qui figure ici a été annoncé jusque-là.
paper-what_if = Hypothèse : des lignes de verrouillage étaient omises :
paper-own_word = Conduit par un autre automate que le noyau : tout ceci n'engage que lui.
paper-reason = Motif
paper-no_reason = la station n'en a pas donné

## Noms

paper-record = Bon
paper-job = Ordre
paper-begun = Début
paper-ended = Fin
paper-station = Station
paper-operator = Opérateur
paper-not_named = non nommé
paper-vehicle = Véhicule
paper-vehicle_id = Repère
paper-refrigerant = Fluide
paper-label = Étiquette
paper-high_voltage = haute tension
paper-masses = Masses
paper-recovered = Récupéré
paper-oil_drained = Huile usée
paper-oil_new = Huile neuve
paper-oil_kind = Huile de la station
paper-ordered = Commandé
paper-charged = Chargé
paper-purged = Purgé
paper-findings = Constats
paper-gas = Analyse du fluide
paper-vacuum = Vide
paper-leak = Contrôle d'étanchéité
paper-hoses = Flexibles
paper-none = aucun
paper-not_said = non annoncé
paper-not_ordered = non commandé
paper-not_checked = non contrôlé
paper-lapsed = Une tenue du vide antérieure ne compte plus : non contrôlé.
paper-phases = Phases
paper-warnings = Avertissements
paper-trips = Verrouillages
paper-cautions = Précautions

## Comment une phase s'est terminée

paper-outcome_pass = fait
paper-outcome_failed = échec
paper-outcome_refused = refus
paper-outcome_aborted = arrêt
paper-outcome_skipped = omis
paper-outcome_unfinished = interrompu

## Ce qu'est devenu un déclenchement

paper-released = Levé après { $time } s.
paper-stands = Encore présent à la fin de l'ordre. Pour le lever : { $clear }.

## Précautions

paper-caution_gas = Le gaz peut être inflammable : ni flamme ni étincelle, aérer le local.
paper-caution_pressure = Circuit, flexibles et réservoir sont sous pression : lunettes et gants.
paper-caution_hold = La tenue du vide est un essai grossier : elle ne prouve pas l'étanchéité du circuit.
paper-caution_licence = Ceci ne remplace ni les règles locales ni un travail qualifié.

## Un ticket réimprimé depuis la mémoire de la station

paper-reprint = Réimpression d'un enregistrement de la mémoire de la station. Heures selon l'horloge de la station.
paper-not_kept = non conservé dans l'enregistrement
