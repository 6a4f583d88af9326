## Varias cosechadoras y tickets de balanza

machines-held = Las cosechadoras se compararon entre sí donde sus pasadas son vecinas: { $why }.
machines-held-alike = Las cosechadoras se compararon entre sí donde sus pasadas son vecinas y al suelo se le hizo lo mismo: { $why }.
machines-group = { $machines }: { $stretches } de { $pairs }, p { $p }.
count-stretches =
    { $count ->
        [one] { $shown } tramo
       *[other] { $shown } tramos
    }
count-pass-pairs =
    { $count ->
        [one] { $shown } par de pasadas
       *[other] { $shown } pares de pasadas
    }
count-tickets =
    { $count ->
        [one] { $shown } ticket
       *[other] { $shown } tickets
    }
machines-tickets = Tickets de balanza: usados { $used } de { $tickets }; cada carga pesada se llevó a lo que dice su ticket.
machines-unweighed = { $grain } { $unit } de los registros no están en ninguna carga pesada y llevan el factor de su cosechadora.
machines-table-beside = Cosechadoras en pasadas vecinas
machines-table-shares = Qué cosechadora cortó cuánto de cada tratamiento
machines-table-tickets = Factores de las cosechadoras según los tickets de balanza
machines-table-loads = Cargas
machines-column-machine = cosechadora
machines-column-treatment = tratamiento
machines-column-logged = registrado, { $unit }
machines-column-weighed = pesado, { $unit }
machines-column-neighbour-factor = factor según pasadas vecinas
machines-column-stretches = tramos
machines-column-factor-used = factor usado
machines-column-factor = factor
machines-column-loads = cargas
machines-column-from = según
machines-column-load = carga
machines-column-residual = desvío de los factores de sus cosechadoras
machines-column-used = usado
machines-from-tickets = tickets
machines-from-neighbours = pasadas vecinas
machines-from-log = como se registró
machines-load-row = fila { $row }
machines-load-used = sí
machines-load-left = no: { $why }

## Por qué el grano se multiplicó por lo que dicen las pasadas vecinas, o por qué no

machine-why-none-beside = no hay dos cosechadoras que hayan cortado bastante suelo una al lado de la otra como para compararlas
machine-why-switched-off = machine_bias está en off: los factores solo se informan
machine-why-tickets-carried = los tickets de balanza fijan el nivel, y las pasadas vecinas lo llevaron a las cosechadoras sin tickets
machine-why-tickets = los tickets de balanza fijan el nivel de todas las cosechadoras que las pasadas vecinas vinculan
machine-why-beyond-chance = en pasadas vecinas las cosechadoras difieren más de lo que explica el azar
machine-why-within-chance = en pasadas vecinas las cosechadoras no difieren más de lo que explica el azar

## Por qué no se usó un ticket

ticket-left-no-mass = no tiene un peso mayor que 0
ticket-left-moisture = su humedad es { $moisture } %; se espera un porcentaje de 0 a 90
ticket-left-unknown-machine = ninguna cosechadora de los registros se llama «{ $machine }»: son { $machines }
ticket-left-no-load = no nombra ninguna carga
ticket-left-no-time = no tiene comienzo ni final
ticket-left-no-span = su final no es posterior a su comienzo
ticket-left-said-again = repite lo que dice la fila { $row }
ticket-left-differing = las filas { $rows } dan pesos distintos de una misma carga: súmelos en una sola fila si todos se pesaron
ticket-left-overlapping = su horario se superpone con el de la fila { $row }
ticket-left-no-record = ningún registro es de la carga «{ $load }»
ticket-left-no-record-in-time = no hay ningún registro en su horario
ticket-left-no-grain = los registros no tienen grano de esa carga
ticket-left-not-believed = pesó { FIGURE($weighed) } kg y los registros tienen { FIGURE($logged) } kg, es decir, { FIGURE($times, decimals: 2) } veces lo registrado: busque una unidad equivocada, otra carga o grano de otro lote en ella

## Advertencias: `warning-` y el código de la advertencia

warning-machine-bias = Las cosechadoras midieron distinto donde cortaron una al lado de la otra. Su grano se multiplicó: { $machines }. El grano de todas juntas queda como se registró: solo los tickets de balanza pueden decir cuánto hubo en verdad.
warning-machine-bias-left = Las cosechadoras midieron distinto donde cortaron una al lado de la otra, y machine_bias está en off: no se hizo nada. Haría falta { $machines }.
machine-factor = { $machine } × { FIGURE($factor, decimals: 3) } (intervalo del 95 % de { FIGURE($low, decimals: 3) } a { FIGURE($high, decimals: 3) })
warning-machine-without-tickets = Ningún ticket es de { $machines }: el nivel de las cosechadoras pesadas se trasladó por las pasadas vecinas a las de ellas.
warning-machine-bias-large = Con más del 20 % de diferencia respecto de las demás donde cortaron lado a lado: { $machines }. Es más que lo habitual en un sensor sin calibrar: revise el ancho de cabezal, las unidades y el cultivo en los registros de esa cosechadora.
warning-machine-not-joined = Sin bastante suelo cortado junto a otra cosechadora y sin ticket de balanza: { $machines }. No se sabe si mide como las demás, y su grano se dejó como se registró. Tickets de balanza de sus cargas lo resolverían.
machine-too-little = { $machine } (muy poco)
warning-tickets-not-used = { $path }: no se usaron { $left } de { $tickets } tickets ({ $reasons }).
ticket-in-row = fila { $row }: { $why }
tickets-more = y { $more } más
warning-loads-without-ticket =
    { $count ->
        [one] { $count } carga de los registros no tiene ningún ticket que se haya usado ({ $loads }): su grano recibió el factor de su cosechadora.
       *[other] { $count } cargas de los registros no tienen ningún ticket que se haya usado ({ $loads }): su grano recibió el factor de su cosechadora.
    }
warning-tickets-do-not-part-machines = Las cosechadoras llenaron más o menos la misma parte de cada carga pesada, de modo que los tickets no las distinguen: todas recibieron un mismo factor, multiplicado por lo que dicen de ellas las pasadas vecinas.
warning-machine-confounded = Cosechadora y tratamiento van juntos: { $machines } en { $treatment }, { $check_machines } en { $check }. { $known } Para distinguirlos, dé tickets de balanza de las cargas de todas las cosechadoras (tickets en [harvest]); otro año, haga que cada cosechadora corte franjas tratadas y franjas testigo del mismo bloque.
machine-share = { $machine } ({ FIGURE($share) } %)
machine-known-tickets = Los tickets de balanza fijan el nivel de cada una de ellas, de modo que la comparación vale, tan segura como los tickets.
machine-known-not = No se sabe cómo miden estas cosechadoras una al lado de la otra en suelo de un mismo tratamiento: una diferencia entre las cosechadoras se ve igual que un efecto del tratamiento, y la comparación no puede decir cuál de los dos es.
machine-known-taken-out = Se compararon entre sí solo donde al suelo se le hizo lo mismo. Lo que ahí midieron distinto se descontó; como eso se conoce solo hasta cierto punto, la ventaja queda incierta en otros { FIGURE($bushels, decimals: 1) } bu/ac ({ FIGURE($kg) } kg/ha) hacia un lado u otro, que su intervalo no incluye.
machine-known-left = Se compararon entre sí solo donde al suelo se le hizo lo mismo. Lo que ahí midieron distinto no se descontó; como eso se conoce solo hasta cierto punto, la ventaja queda incierta en otros { FIGURE($bushels, decimals: 1) } bu/ac ({ FIGURE($kg) } kg/ha) hacia un lado u otro, que su intervalo no incluye.
