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

## Champs

field-charge = charge
field-evacuate = durée du tirage au vide
field-depth = niveau de vide
field-leak_hold = durée de tenue du vide
field-circuit = volume du circuit
field-test_over = pression d'épreuve
field-test_hold = durée d'épreuve
field-oil_extra = supplément d'huile
