## Mapas

map-yield-before = Rendimiento según el registro
map-yield-before-caption = Cada registro con el cabezal abajo, tal como lo guardó el monitor: el grano aún sin devolver al lugar donde fue cortado, nada descartado. Las mismas clases que en el mapa depurado.
map-yield-after = Rendimiento después de la depuración
map-yield-after-caption = Los registros que cuentan, con el grano devuelto al lugar donde fue cortado y sin el suelo cosechado dos veces. En gris, el suelo cuyos registros se descartaron.
map-removed-records = Registros descartados por la depuración
map-removed-records-caption = Los registros descartados según el motivo. Deberían estar al final de las pasadas, en las cabeceras y donde la máquina se detuvo; un motivo que cubre franjas enteras merece otra mirada.
map-strip-yields = Las franjas y sus rendimientos
map-strip-yields-caption = Los tratamientos según el rayado, con el bloque y el rendimiento de cada franja. Las bandas grises de abajo son las pasadas de la cosechadora: donde una cruza el borde de una franja, su grano es una mezcla.
map-advantage-along = Ventaja a lo largo de las franjas
map-advantage-along-of = Ventaja a lo largo de las franjas: { $treatment }
map-advantage-along-caption = Dónde cada franja tratada rindió más (violeta) o menos (naranja) que la franja testigo de su bloque, lugar por lugar. Un color que atraviesa todos los bloques a una misma distancia a lo largo de las franjas dice más que uno que está en una sola franja.
map-zones = Las zonas bajo las franjas
map-zones-caption = Las zonas según las cuales se divide la respuesta, con el suelo de cada registro en la zona donde cae su centro, y las franjas encima.

map-about = { $field } · { $crop } a { $moisture } % de humedad · { $counted }
map-nothing = Ningún registro tiene posición: no hay nada que dibujar.
# La letra de la flecha que señala el norte.
map-north = N
map-also-shown = También se muestra
map-strip = franja
map-yield-heading = Rendimiento, { $unit }
map-no-record = No hay ningún registro que mostrar.
map-steps = Pasos iguales, extremos abiertos, los mismos en ambos mapas de rendimiento; % del suelo mostrado.
map-class-under = menos de { $to }
map-class-over = { $from } o más
map-class-all-near = todo cerca de { $middle }
map-header-down = { $shown } de { $records } registros, cabezal abajo, nada corregido
map-kept = { $shown } de { $records } registros conservados
map-dropped = { $shown } de { $records } registros descartados
map-records-dropped = registros descartados
map-dropped-heading = Descartados, registros
map-none-dropped = No se descartó ningún registro.
map-marks-thinned = Las marcas se ralean donde se tocarían.
map-no-strips = sin franjas
map-treatments-heading = Tratamiento, franjas
map-treatment-check = { $treatment } (testigo)
map-more-treatments = y { $more } tratamientos más, en la tabla de franjas
map-no-strips-note = No hay franjas.
map-in-each-strip = En cada franja: bloque · rendimiento, { $unit }.
map-too-small =
    { $count ->
        [one] { $shown } franja es muy pequeña aquí para una cifra: vea la tabla de franjas.
       *[other] { $shown } franjas son muy pequeñas aquí para una cifra: vea la tabla de franjas.
    }
map-passes = pasadas de la cosechadora, registros conservados
map-no-yield = sin rendimiento
map-along-about = { $field } · { $crop } a { $moisture } % de humedad · { $comparison }, sobre { $window } de recorrido
map-along-heading = { $comparison }, { $unit }
map-along-note = En cada franja tratada: su diferencia con la franja testigo de su bloque, sobre { $window } de recorrido alrededor de cada lugar.
map-along-luck = Los bloques sueltos varían por azar. El gráfico del informe dice qué es más que eso.
map-along-check = franja testigo
map-along-others = otros tratamientos
map-along-unknown = tratada, sin testigo al lado
map-zones-about = { $field } · { $zones } zonas { $by ->
        [elevation] según la elevación
        [past] según rendimientos anteriores
       *[drawn] según el dibujo
    } · { $strips } franjas
map-zones-heading = Zona, suelo en las franjas
map-zones-heading-height = Zona (altura, { $unit }), suelo en las franjas
map-zones-heading-past = Zona (rendimiento anterior, % de la media), suelo en las franjas
map-zones-no-zone = en ninguna zona
map-zones-elevation = Elevación de los registros, agrupados hasta { $distance }; clases de igual suelo.
map-zones-past = Rendimiento de cosechas anteriores, registros agrupados hasta { $distance }; clases de igual suelo.
map-zones-strip = franja: bloque · tratamiento
