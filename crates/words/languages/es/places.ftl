## Dónde fue rentable: zonas

zones-elevation =
    { $count ->
        [one] El suelo se divide por su altura: { $classes } clase de la elevación de los propios registros, cada una con más o menos el mismo suelo en las franjas. La altura en un registro es la mediana de los registros a menos de { $radius }, porque las lecturas sueltas tienen ruido.
       *[other] El suelo se divide por su altura: { $classes } clases de la elevación de los propios registros, cada una con más o menos el mismo suelo en las franjas. La altura en un registro es la mediana de los registros a menos de { $radius }, porque las lecturas sueltas tienen ruido.
    }
zones-past =
    El suelo se divide por lo que rindió en { $harvests ->
        [one] { $shown_harvests } cosecha anterior
       *[other] { $shown_harvests } cosechas anteriores
    }: { $count ->
        [one] { $classes } clase
       *[other] { $classes } clases
    } del rendimiento relativo a la media de cada cosecha, promediado sobre los registros a menos de { $radius }. Los rendimientos de este año no intervinieron.
zones-drawn = El suelo se divide según el dibujo de { $file }.
zones-middle = Un registro pertenece a la zona en la que cae el centro de su suelo.
zones-none = { $area } { $unit } de las franjas ({ $share }) no están en ninguna zona y aquí no se cuentan.
zones-few = Para { $comparison } hay muy pocos bloques en las zonas para decir si la diferencia cambia de zona a zona.
zones-f = F = { $f } con { $df_zones } y { $df_error } grados de libertad, { $p }
zones-differ = Para { $comparison } la diferencia cambia de zona a zona más de lo que el azar suele causar ({ $test }).
zones-alike = Para { $comparison } estas franjas no permiten distinguir las zonas. Si la diferencia fuera igual en todas partes, las zonas a menudo se verían tan distintas como estas ({ $test }). La respuesta de todo el lote es entonces la mejor estimación para cada zona.
zones-chances = { $zones } zonas son { $zones } oportunidades: cada intervalo por sí solo vale 19 de cada 20 veces, así que alguno puede fallar por azar. Una zona elegida después de ver los rendimientos no prueba nada; busque la misma zona en otro año.
zones-one-block = En { $zones } el tratamiento y el testigo coinciden en un solo bloque: se muestra la diferencia, nada se afirma a partir de ella.
zones-two-blocks = En { $zones } el tratamiento y el testigo coinciden en solo dos bloques: su intervalo se apoya también en la dispersión de las otras zonas y no es prueba.
zones-left-out =
    { $count ->
        [one] { $shown } pedazo de zona dentro de un bloque tenía muy poco suelo de uno o de otro y quedó afuera, { $area } { $unit } en total.
       *[other] { $shown } pedazos de zona dentro de un bloque tenían muy poco suelo de uno o de otro y quedaron afuera, { $area } { $unit } en total.
    }
zones-plot = Diferencia en cada zona: { $comparison }
zones-plot-caption = A la derecha de la línea llena rindió más { $treatment }. Intervalos que se superponen mucho no distinguen las zonas.
zones-plot-zone = una zona, intervalo del 95 %
zones-plot-whole = todo el lote
zones-plot-whole-interval = todo el lote, intervalo del 95 %
zones-table = Tratamiento y testigo, zona por zona
zones-column-zone = Zona
zones-column-height = Altura
zones-column-past = Rendimiento anterior, parte de la media
zones-column-check = Rendimiento del testigo, { $unit }

# Nombres de las clases; las zonas dibujadas conservan los suyos.
zone-low-ground = suelo bajo
zone-middle-ground = suelo medio
zone-high-ground = suelo alto
zone-low-yield = rendimiento bajo
zone-middle-yield = rendimiento medio
zone-high-yield = rendimiento alto
zone-lowest = { $class } (la más baja)
zone-highest = { $class } (la más alta)

## A lo largo de las franjas

along-title = { $comparison } a lo largo de las franjas
along-intro = ¿En qué parte de las franjas ganó? Cada punto de un gráfico es la media de los bloques sobre { $window } de recorrido, y cada { $step } hay uno nuevo, de modo que puntos vecinos comparten suelo. Las distancias se cuentan desde el extremo { $end }.
along-left-out =
    { $count ->
        [one] Queda afuera: { $shown } franja, que corre en otra dirección que la mayoría.
       *[other] Quedan afuera: { $shown } franjas, que corren en otra dirección que la mayoría.
    }
along-untested = Con { $blocks } y { $windows } no se puede decir nada del azar a lo largo de las franjas: hacen falta al menos tres bloques y dos ventanas.
along-few-blocks = Con { $blocks } ningún tramo se puede distinguir del azar: la menor p que tan pocos pueden dar es { $p }, cualesquiera que sean los rendimientos. Hacen falta seis bloques o más.
along-no-change = Nada demuestra que la ventaja cambie a lo largo de las franjas ({ $p }): altibajos como los del gráfico ocurren por el solo azar del suelo. No maneje partes del lote de otra manera por ellos.
along-change =
    { $outcome ->
        [more] La ventaja cambia a lo largo de las franjas más que por azar ({ $p }). Lo que más se destaca es de { $stretch }, donde es { $size } { $unit } mayor que su media a lo largo de las franjas.
       *[less] La ventaja cambia a lo largo de las franjas más que por azar ({ $p }). Lo que más se destaca es de { $stretch }, donde es { $size } { $unit } menor que su media a lo largo de las franjas.
    }
along-gained-and-lost = Con todas las ventanas juzgadas a la vez, ganó de { $gain } y perdió de { $loss }; que no haya diferencia en ninguna parte tiene { $p }.
along-gained = Con todas las ventanas juzgadas a la vez, ganó de { $gain }; que no haya diferencia en ninguna parte tiene { $p }.
along-lost = Con todas las ventanas juzgadas a la vez, perdió de { $loss }; que no haya diferencia en ninguna parte tiene { $p }.
along-somewhere = En algún lugar a lo largo de las franjas difiere del testigo más que por azar ({ $p }), pero con todas las ventanas juzgadas a la vez ningún tramo es seguro.
along-nowhere = Con todas las ventanas juzgadas a la vez, ningún tramo difiere de cero más que por azar ({ $p }).
along-surest = Ahí es donde es más seguro, no donde es mayor que en otras partes.
along-caption-wide = Mire la banda ancha: vale en todos los lugares a la vez, unas 19 de cada 20 veces. La angosta vale 19 de cada 20 veces en un lugar elegido antes de la cosecha; entre muchos lugares, más o menos uno de cada veinte deja afuera la línea de ninguna diferencia por puro azar.
along-caption-narrow = La banda vale 19 de cada 20 veces en un lugar elegido antes de la cosecha; entre muchos lugares, más o menos uno de cada veinte deja afuera la línea de ninguna diferencia por puro azar.
along-caption-none = Un solo bloque: no hay con qué juzgar sus altibajos.
along-axis = distancia desde el extremo { $end }, { $unit }
along-dot = { $stretch }: { $size } { $unit }, { $blocks }
along-none-one-way = No se cosechó nada en franjas que corran en una misma dirección.
along-none-short = Las franjas son muy cortas para mirarlas por partes: ventanas de menos de 30 m (100 pies) mostrarían poco más que grano que la cosechadora había mezclado.
along-none-no-block = Ningún bloque tiene un tratamiento y el testigo lado a lado a lo largo de las franjas.

compass-north = norte
compass-north-east = noreste
compass-east = este
compass-south-east = sureste
compass-south = sur
compass-south-west = suroeste
compass-west = oeste
compass-north-west = noroeste
