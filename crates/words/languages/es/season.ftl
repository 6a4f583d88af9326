## El informe de una campaña

season-title = { $season }: { $fields }
season-question = ¿qué fue rentable?
season-about = { $with } con resultados, { $without } sin ellos
season-about-all = todos los lotes tienen resultados
season-none = Todavía ningún lote tiene resultados.
season-of-crop = { $crop }: { $said }
season-not-pooled = { $crop }: { $reason }.
season-fields = Lotes
season-fields-note = El informe de cada lote está en su carpeta. Cómo se reúnen los lotes se explica en los informes de la carpeta pooled.
season-without = Sin resultados
season-not-done = todavía no se procesó
season-table-together = Todos los lotes en conjunto
season-table-fields = Cada lote, con la comparación que encabeza
season-table-without = Lotes sin resultados
season-map-title = { $treatment }: dónde están los lotes
season-map-says = Cada lote lleva la marca de lo que sus franjas dicen de { $treatment }; la tabla de lotes los enumera todos.
season-footer = Escrito por { $tool } { $version }, esquema { $schema }. Cada cifra está en season.json y en el results.json de cada lote.
column-crop = Cultivo
column-fields = Lotes
column-mean-difference = Diferencia media, { $unit }
column-odds-mean = Probabilidad de que la media sea rentable
column-odds-further = Probabilidad en un lote más
column-warnings = Advertencias
column-folder = Carpeta
warning-fields-without-results =
    { $count ->
        [one] { $count } lote sin resultados figura más abajo con el motivo; de él no se sabe nada.
       *[other] { $count } lotes sin resultados figuran más abajo con el motivo; de ellos no se sabe nada.
    }

## El mapa de los lotes

map-fields = Lotes de la campaña
map-fields-about = { $season } · { $treatment }
map-fields-heading = Rendimiento del tratamiento, lotes
map-fields-more = más que el testigo
map-fields-unclear = no se distingue de ninguna diferencia
map-fields-less = menos que el testigo
map-fields-unknown = sin intervalo
map-fields-note = Junto a cada marca: lote y diferencia, { $unit }. Más y menos: el intervalo del 95 % no incluye el cero.
