## Plantas contadas

stand-intro =
    { $count ->
        [one] { $shown } conteo representó a una franja; la población de cada franja es la media de sus conteos.
       *[other] { $shown } conteos representaron a una franja; la población de cada franja es la media de sus conteos.
    }
stand-left-out = Quedaron afuera: { $reasons }. results.json nombra las filas.
stand-what-counts = Lo que se implantó es la franja: más conteos en ella hacen más segura su media, pero no son más franjas. Dónde se cuentan las plantas debe decidirlo el azar, no el ojo.
stand-outside = { $shown } en ninguna franja
stand-edge = { $shown } en el borde de una franja
stand-unknown-strip = { $shown } de una franja que no existe
stand-no-place = { $shown } sin posición ni franja
stand-no-count = { $shown } sin número de plantas
stand-no-row = { $shown } sin largo o distancia de los surcos
stand-answer =
    { $outcome ->
        [more] Población: las franjas { $treatment } tuvieron { $size } { $unit } más que las franjas { $check } vecinas ({ $basis }).
        [fewer] Población: las franjas { $treatment } tuvieron { $size } { $unit } menos que las franjas { $check } vecinas ({ $basis }).
       *[same] Población: las franjas { $treatment } tuvieron tantas plantas como las franjas { $check } vecinas ({ $basis }).
    }
stand-plot = Diferencia de población en cada bloque: { $comparison }
stand-plot-caption = A la derecha de la línea llena tuvo más plantas { $treatment }.
stand-table = Plantas contadas, franja por franja
stand-column-stand = Población, { $unit }
stand-column-sd = Desvío estándar de los conteos, { $unit }
stand-column-counts = Conteos
stand-column-emergence = Emergencia
stand-table-comparisons = Poblaciones comparadas, primero la que encabeza
