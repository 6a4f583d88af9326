## La primera página

report-glance = De un vistazo
report-answer-in-full = La respuesta completa
glance-verdict =
    { $verdict ->
        [paid] fue rentable
        [probably] probablemente fue rentable
        [open] puede que haya sido rentable o no
        [probably-not] probablemente no fue rentable
        [not] no fue rentable
        [more] rindió más
        [less] rindió menos
        [same] no se distingue de no tratar
       *[unjudged] no se puede juzgar solo con estas franjas
    }
glance-sentence = { $treatment }: { $verdict }; { $outcome ->
        [less] { $size } { $unit } menos
       *[more] { $size } { $unit } más
    } que { $check }.
glance-sentence-pays = { $treatment }: { $verdict }; { $outcome ->
        [less] { $size } { $unit } menos
       *[more] { $size } { $unit } más
    } que { $check }, y se paga con una ganancia de { $gain }.
glance-sentence-bare = { $treatment }: { $verdict }.
glance-gain = Ganancia sobre { $check }
glance-interval = intervalo del 95 % de { $interval }
glance-break-even = ganancia de equilibrio { $gain }
glance-price = grano a { $price }
glance-mind =
    { $count ->
        [one] Lo que hay que saber antes de creerla: { $shown } cosa, más abajo.
       *[other] Lo que hay que saber antes de creerla: { $shown } cosas, más abajo.
    }
