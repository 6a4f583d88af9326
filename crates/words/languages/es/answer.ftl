## La respuesta en palabras

# Un tratamiento sin nombre.
answer-treated = del tratamiento
answer-no-comparison = La cosecha no se puede comparar: { $why ->
        [strips] no se dio ninguna franja
        [check] ninguna franja lleva el nombre del testigo
        [grain] ninguna franja tiene suelo cosechado que haya pasado la depuración
       *[pair] ningún bloque tiene a la vez un tratamiento y su testigo con grano de ambos
    }. Los rendimientos de abajo son solo los del lote y sus franjas.
answer-not-known = Las franjas { $treatment } no se pudieron comparar con las franjas { $check }.
answer-strips =
    { $outcome ->
        [more] Las franjas { $treatment } rindieron { $size } { $unit } más que las franjas { $check } vecinas
        [less] Las franjas { $treatment } rindieron { $size } { $unit } menos que las franjas { $check } vecinas
       *[same] Las franjas { $treatment } rindieron lo mismo que las franjas { $check } vecinas
    }
answer-drift =
    { $outcome ->
        [more] Las franjas { $treatment } rindieron { $size } { $unit } más que las franjas { $check }, descontada la variación gradual del suelo a través del lote
        [less] Las franjas { $treatment } rindieron { $size } { $unit } menos que las franjas { $check }, descontada la variación gradual del suelo a través del lote
       *[same] Las franjas { $treatment } rindieron lo mismo que las franjas { $check }, descontada la variación gradual del suelo a través del lote
    }
answer-mixture =
    { $outcome ->
        [more] El suelo { $treatment } rindió { $size } { $unit } más que el suelo { $check }, a juzgar por la mezcla de ambos bajo cada ancho de cabezal
        [less] El suelo { $treatment } rindió { $size } { $unit } menos que el suelo { $check }, a juzgar por la mezcla de ambos bajo cada ancho de cabezal
       *[same] El suelo { $treatment } rindió lo mismo que el suelo { $check }, a juzgar por la mezcla de ambos bajo cada ancho de cabezal
    }
answer-basis = { $said } ({ $basis }).
answer-interval = intervalo del 95 % de { $low } a { $high }
answer-one-pair = Un solo par no prueba nada: la misma diferencia puede haber entre dos franjas cualesquiera del lote. Solo más bloques o más años lo dirán.
answer-not-sure = Con estas franjas no se puede decir qué tan seguro es.
answer-holds-zero = El intervalo incluye el cero: las franjas no permiten distinguirlo de ninguna diferencia.
answer-leaves-zero-out = El intervalo no incluye el cero: franjas tratadas por igual rara vez diferirían tanto.
answer-family-holds-zero = Con { $treatments } tratamientos probados, alguno puede parecerlo por azar: el intervalo que los tiene en cuenta a todos, de { $low } a { $high }, incluye el cero.
answer-family-leaves-zero-out = El intervalo que tiene en cuenta los { $treatments } tratamientos probados, de { $low } a { $high }, tampoco lo incluye.
answer-straddled-allowed = Hubo cabezales a caballo entre franjas, de modo que la simple diferencia entre ellas conserva solo alrededor del { $share } % del contraste; esta cifra lo tiene en cuenta.
answer-straddled = Hubo cabezales a caballo entre franjas: la simple diferencia conserva solo alrededor del { $share } % del contraste, así que el efecto propio del tratamiento, ganancia o pérdida, probablemente es mayor.
answer-no-money = No se dieron precio ni costo, así que no se dice si fue rentable.
answer-worth = Con { $price } y un costo de { $cost }, la ganancia de equilibrio es de { $gain }.
answer-worth-odds = Con { $price } y un costo de { $cost }, la ganancia de equilibrio es de { $gain }; la probabilidad de que haya sido rentable es de { $odds }.
answer-worth-face-value = Con { $price } y un costo de { $cost }, la ganancia de equilibrio es de { $gain }; tomada al pie de la letra, la diferencia dejaría { $net }, sin que se le pueda poner una probabilidad.
answer-together =
    { $outcome ->
        [differ] De los { $treatments } tratamientos en conjunto, incluido el testigo, algunos difieren
       *[unknown] De los { $treatments } tratamientos en conjunto, incluido el testigo, no se demuestra que alguno difiera
    }: { $p } según { $tried ->
        [all] todos los { $orders } órdenes
       *[drawn] { $orders } órdenes sorteados
    } que las franjas podrían haber tenido dentro de sus bloques, { $f_test } según la prueba F.

## Por qué ese método encabeza

headline-none = Sin comparación: ningún bloque tiene un tratamiento y el testigo.
headline-no-check = Sin comparación: no se nombró ningún testigo.
headline-not-enough = Sin comparación: las franjas todavía no alcanzan para una.
headline-swath-mixture = Mezcla por pasada: hubo cabezales a caballo entre franjas, de modo que la simple diferencia representa solo una parte del tratamiento; cada tramo de pasada se compara según la parte tratada de su suelo, { $blocks } bloques.
headline-randomized-blocks = Bloques al azar: { $treatments } tratamientos y el testigo en { $blocks } bloques, con el error estimado sobre todos ellos en conjunto.
headline-one-block = Un solo bloque: se muestra la diferencia, pero nada se afirma a partir de ella.
headline-paired-strips = Franjas apareadas: cada franja tratada contra el testigo de su propio bloque, { $blocks } bloques; la unidad es la franja, no el registro.
