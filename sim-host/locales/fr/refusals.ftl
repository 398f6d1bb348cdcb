### Pourquoi une commande a été refusée, comme fin de phrase, et les champs d'un ordre.

refusal-busy = un ordre est en cours ; l'abandonner ou attendre
refusal-repeated_id = ce départ a déjà été donné ; il n'est pas exécuté deux fois
refusal-nothing_ordered = l'ordre ne nomme aucune phase
refusal-out_of_range = « { $field } » est hors de sa plage
refusal-tripped = le verrouillage { $row } est présent ; supprimer sa cause, puis appuyer sur réarmement
refusal-not_paused = rien n'est en pause
refusal-not_running = rien n'est en marche
refusal-no_question = aucune question n'est posée
refusal-question_closed = la question de cette réponse est close ; lire celle qui est posée maintenant
refusal-nothing_to_reset = rien n'est à réarmer
refusal-on_flush_port = les coupleurs sont sur la prise de rinçage (ZS-3) ; les brancher au véhicule
refusal-not_on_flush_port = les coupleurs ne sont pas sur la prise de rinçage (ZS-3) ; y brancher les deux
refusal-not_flushed = le véhicule est à haute tension, et les flexibles ont été ouverts à un autre véhicule depuis le dernier rinçage ; brancher les deux coupleurs sur la prise de rinçage et commander d'abord le rinçage
refusal-hoses_foreign = un gaz qui n'est pas celui de cette station est dans les flexibles ; brancher les deux coupleurs sur une bouteille pour gaz mélangé tirée au vide et commander d'abord la décontamination

## Champs

field-charge = charge
field-evacuate = durée du tirage au vide
field-depth = niveau de vide
field-leak_hold = durée de tenue du vide
field-circuit = volume du circuit
field-test_over = pression d'épreuve
field-test_hold = durée d'épreuve
field-oil_extra = supplément d'huile
field-mass = masse
field-phases = liste des phases ; l'entretien se commande seul, elle

## Pourquoi le code d'une pièce n'a pas été accepté

code-mistyped = il est mal tapé ; le comparer à l'étiquette, signe par signe
code-other_version = il est d'une version que ce programme ne connaît pas ; demander au fournisseur de la pièce
code-not_ours = il n'a pas été fait pour cette station ; demander au fournisseur de la pièce
code-of_drier = c'est celui d'un filtre déshydrateur
code-of_oil = c'est celui d'un remplissage d'huile de pompe
code-is_release = c'est l'autorisation d'un responsable
code-used_before = il a déjà été utilisé ; chaque pièce neuve vient avec son propre code
code-too_old = il est tellement plus ancien que le dernier que nul ne peut dire s'il a été utilisé ; demander une autorisation à un responsable
code-wait = trop de codes faux l'ont précédé ; attendre { $time } s
code-not_stored = la mémoire des données ne l'accepte pas, et rien n'est accordé avant d'être enregistré ; réparer la mémoire
