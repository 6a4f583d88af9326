## Métodos

method-paired-strips = franjas apareadas
method-paired-strips-does = diferencia dentro de cada bloque, t de Student
method-randomized-blocks = bloques al azar
method-randomized-blocks-does = todos los tratamientos juntos, descontados los bloques
method-permutation = permutación
method-permutation-does = etiquetas intercambiadas dentro de los bloques de todas las maneras posibles
method-spatial-reml = modelo espacial
method-spatial-reml-does = tramos de franja, descontado el patrón del suelo
method-swath-mixture = mezcla por pasada
method-swath-mixture-does = tramos de pasada según su parte de suelo tratado
method-with-what-it-does = { $method }: { $does }

## Qué pasó con los registros

status-kept = conservado
status-header-up = cabezal levantado o sin cortar
status-pass-start = comienzo de una pasada
status-pass-end = final de una pasada
status-overlap = suelo ya cosechado
status-speed = detenido, muy lento, muy rápido o con cambio brusco
status-position = posición ausente o con salto
status-time = hora ausente, repetida o errónea
status-yield-limit = rendimiento ausente o imposible
status-local-outlier = lejos de lo que dicen sus vecinos
status-moisture = humedad ausente o imposible

## Columnas de las tablas

column-strip = Franja
column-treatment = Tratamiento
column-block = Bloque
column-yield = Rendimiento, { $unit }
column-moisture = Humedad, %
column-grain = Grano, { $unit }
column-ground = Suelo, { $unit }
column-covered = Cubierto
column-mixed = Mezclado
column-records = Registros
column-comparison = Comparación
column-method = Método
column-difference = Diferencia, { $unit }
column-interval = Intervalo del 95 %
column-p = p
column-blocks = Bloques
column-degrees-of-freedom = Grados de libertad
column-contrast-carried = Contraste conservado
column-interval-family = Intervalo del 95 %, todos a la vez
column-p-family = p, todos a la vez
column-count = Cantidad
column-share = Parte
column-cost-made-of = El costo se compone de
column-cost-per = Costo por { $unit }
column-price = Precio
column-break-even = Ganancia de equilibrio
column-net-per = Margen por { $unit }
column-odds = Probabilidad de que haya sido rentable
column-file = Archivo
column-sha256 = SHA-256
column-column = Columna
column-from = De
column-unit-read = Unidad leída
column-setting = Ajuste
column-value = Valor

## Tablas

table-strips = Cada franja, dentro de su margen libre
table-comparisons = Todos los métodos que se pudieron aplicar, primero el que encabeza
table-cleaning = Qué pasó con los registros
table-cleaning-all = todos los registros
table-money-acre = Dinero por acre
table-money-hectare = Dinero por hectárea
table-files = Archivos
table-files-zones = zonas, { $column }
table-files-past = { $records } (anteriores)
table-columns = Columnas
table-columns-derived = deducida: { $how }
table-settings = Ajustes
setting-check = testigo
setting-inset = margen libre dentro del borde de cada franja
setting-blocks = bloques
setting-blocks-file = como dice el archivo de franjas
setting-blocks-adjacency = deducidos de qué franjas son vecinas
setting-crs = coordenadas de las franjas
setting-zones = zonas
setting-zones-elevation = { $classes } clases de elevación
setting-zones-past = { $classes } clases de rendimientos anteriores
setting-zones-drawn = según el dibujo
setting-zones-within = registros agrupados para las zonas, hasta
setting-zones-least = suelo mínimo de un par de franjas en una zona
setting-row-length = largo de surco contado
setting-row-spacing = distancia entre surcos

## Qué hizo la depuración

cleaning-delay = Retardo del grano { $seconds } s, { $source }.
cleaning-delay-interval = Retardo del grano { $seconds } s, { $source } (intervalo del 95 % de { $low } a { $high } s).
cleaning-delay-estimated = estimado a partir de los registros
cleaning-delay-given = según lo indicado
cleaning-delay-kept = se dejó como venía en los registros
cleaning-smear = El flujo de grano se reparte en unos { $seconds } s.
cleaning-ground = { $passes } de { $machines }. Todas las huellas juntas cubren { $covered } { $unit }; de eso, { $overlap } { $unit } ya habían sido cosechadas por otra pasada y se descontaron.
