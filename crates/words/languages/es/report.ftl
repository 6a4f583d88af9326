## Títulos y palabras fijas del informe

report-question = ¿fue rentable?
report-about = { $crop } a { $moisture } % de humedad, { $area } { $unit } bajo el cabezal
report-answer = La respuesta
report-warnings = Lo que hay que saber antes de creerla
report-cautions = Precauciones
report-plots = Bloque por bloque
report-maps = Mapas
report-map-alt = Mapa: { $title }. { $caption }
report-strips = Franjas
report-strips-note = El rendimiento es grano a humedad comercial sobre suelo cosechado por primera vez, a { $inset } hacia adentro del borde de cada franja. Cubierto: parte de ese suelo con registros utilizables. Mezclado: parte del suelo bajo los mismos cabezales que quedó en otro tratamiento o en ninguna franja.
report-comparisons = Comparaciones
report-comparisons-note = Contraste conservado: cuánto del contraste completo entre suelo tratado y sin tratar muestra la simple diferencia entre franjas, según por dónde pasaron los cabezales. p: con qué frecuencia franjas tratadas por igual diferirían al menos tanto.
report-comparisons-family = Todos a la vez: cuando se prueban varios tratamientos, alguno puede parecer mejor por azar. Estos intervalos valen para todos los tratamientos juntos 19 de cada 20 veces (Dunnett), y esta p los tiene en cuenta a todos.
report-money = Dinero
report-money-odds = Probabilidades con otros precios, costos y montos
report-cleaning = Depuración
report-inputs = Ajustes y archivos
report-footer = Escrito por { $tool } { $version }, esquema de resultados { $schema }. Un bushel pesa { $bushel } kg. Cada cifra está en results.json, junto a este archivo.

report-rates = Rendimiento según la dosis
report-rates-one-rate = una dosis, al nivel medio de los bloques
report-rates-curve = la curva usada
report-rates-best = mejor dosis, intervalo del 95 %
report-rates-caption = La curva se dibuja sobre las dosis probadas y no más allá: de eso no se sabe nada.
report-rates-note = El AICc compara cuánto se acerca una curva a las franjas con cuántos números necesita; se usa la que lo tiene más bajo. Curvas que ajustan casi igual pueden dar mejores dosis muy distintas: conviene mirarlas todas antes de comprar según una.

report-zones = Dónde fue rentable
report-zones-note = Suelo: tratamiento y testigo juntos, donde un bloque tiene bastante de ambos. La diferencia de una zona pondera sus bloques por su superficie; se tiene en cuenta lo que las franjas de un bloque comparten en todas sus zonas.

report-along = A lo largo de las franjas
report-along-mean = media de los bloques
report-along-one-place = 95 % para un solo lugar
report-along-all-places = 95 % para todos los lugares a la vez
report-along-no-difference = ninguna diferencia

report-stand = Población de plantas

report-machines = Cosechadoras y cargas

## Precauciones

caution-one-year = Un lote en un año es solo un lote en un año: repita las franjas antes de cambiar el manejo de todo el establecimiento.
caution-wide-tools = Los rodillos y otros implementos anchos siguen rodando cuando el tractor se detiene: mantenga a todos lejos, enganche con el motor apagado, y baje o trabe las alas plegables antes de que alguien se acerque.
caution-shafts = Mantenga los protectores en cada eje de la toma de fuerza, y deténgala antes de dejar el asiento.
caution-road = En el camino: pliegue, trabe, ilumine y señalice el implemento, cuide su ancho y su peso en puentes y banquinas blandas, y circule a la velocidad que el implemento permite.
caution-manual = Siga el manual de la máquina, las normas locales y las prácticas autorizadas.
caution-fields-tried = Los lotes son los que se probaron, no un sorteo entre todos los lotes: lo que vale para ellos vale para otros en la medida en que el suelo, el clima y el trabajo se parezcan.

## Gráficos

plot-differences = Diferencia en cada bloque: { $comparison }
plot-differences-caption = A la derecha de la línea llena rindió más { $treatment }. Bloques repartidos a ambos lados dicen poco, cualquiera que sea su media.
plot-differences-mixture = Los bloques son simples diferencias, achicadas por cabezales que cruzaron los bordes de las franjas; la cifra general es la del suelo tratado por completo.
plot-block = bloque { $block }
plot-overall = general
plot-overall-interval = general, intervalo del 95 %
plot-one-block = un bloque
plot-no-difference = ninguna diferencia
plot-break-even = punto de equilibrio, { $gain }
plot-strip = franja { $strip }, { $treatment }: { $yield } { $unit }
plot-yields = Rendimiento de cada franja, por bloque
plot-yields-caption = Las franjas de un bloque están en una misma línea: compare dentro de una línea, no entre líneas, porque el suelo difiere de bloque a bloque.
plot-yields-axis = rendimiento, { $unit }
