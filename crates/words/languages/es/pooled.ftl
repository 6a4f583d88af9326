## El informe de muchos lotes: palabras fijas

pooled-title = { $treatments }: { $fields } en conjunto
pooled-about = { $crop } a { $moisture } % de humedad
pooled-forest = Lote por lote
pooled-forest-caption = Cada línea es el intervalo del 95 % propio de un lote, cada cuadrado lo que halló; los cuadrados más grandes pesan más. El rombo es la media de todos los lotes con su intervalo. La barra clara es donde cabe esperar el efecto propio de un lote más. Una flecha sigue más allá de la escala.
pooled-without = Todos sin él: la media y su intervalo cuando se deja afuera ese lote. Una respuesta que cambia al quitar un lote es la respuesta de ese lote.
pooled-differ = ¿Difieren los lotes?
pooled-sure = ¿Qué tan segura es la media?
pooled-left-out = Lo que quedó afuera
pooled-method = Método
pooled-method-words = De cada lote entra la comparación que encabeza su archivo de resultados: la primera de cada tratamiento. Un metaanálisis de efectos aleatorios deja que cada lote tenga un efecto propio. La varianza entre lotes se estima por máxima verosimilitud restringida; los lotes se ponderan con 1 ÷ (su propia varianza + la varianza entre lotes). El intervalo de la media es el de Hartung y Knapp, t con lotes − 1 grados de libertad; donde los lotes concuerdan más de lo que su propio error permite esperar, no se deja que sea más angosto que ese error. El intervalo para un lote más es t con lotes − 2 grados de libertad.
pooled-method-known = El error estándar de cada lote se toma como conocido. No lo es: con pocos bloques es en sí una estimación gruesa, y el intervalo conjunto resulta entonces algo angosto de más.
pooled-files = Archivos
pooled-footer = Escrito por { $tool } { $version }, esquema { $schema }. Un bushel pesa { $bushel } kg. Cada cifra está en pooled.json, junto a este archivo.

## La respuesta conjunta

checks-or = { $first } o { $second }
overall-strips =
    { $outcome ->
        [more] En { $fields }, las franjas { $treatment } rindieron en promedio { $size } { $unit } más que las franjas { $checks } vecinas (intervalo del 95 % de { $low } a { $high } { $unit }).
        [less] En { $fields }, las franjas { $treatment } rindieron en promedio { $size } { $unit } menos que las franjas { $checks } vecinas (intervalo del 95 % de { $low } a { $high } { $unit }).
       *[same] En { $fields }, las franjas { $treatment } rindieron en promedio lo mismo que las franjas { $checks } vecinas (intervalo del 95 % de { $low } a { $high } { $unit }).
    }
overall-holds-zero = El intervalo incluye el cero: estos lotes juntos no permiten distinguirlo de ninguna diferencia.
overall-leaves-zero-out = El intervalo no incluye el cero: un tratamiento que en promedio no hace nada rara vez se vería así.
overall-fields-differ = Su efecto difiere de lote a lote, con un desvío estándar de alrededor de { $tau } { $unit }: la media no es lo que obtiene cada lote.
overall-two-fields = Dos lotes no pueden decir si su efecto difiere de lote a lote.
overall-fields-alike = Los lotes no difieren claramente entre sí más allá de su propio error.
overall-further = En un lote más como estos su efecto propio estaría entre { $low } y { $high } { $unit }, 19 de cada 20 veces.
overall-no-further = Lo que daría un lote más no se puede decir con dos.
overall-costed-differently = Los lotes se costearon de manera distinta, así que no se dice en una sola cifra si es rentable.
overall-no-money = No se dieron precio ni costo, así que no se dice si es rentable.
overall-break-even = La ganancia de equilibrio es de { $gain }.
overall-worth = La ganancia de equilibrio es de { $gain }: la probabilidad de que la ganancia media la pague es de { $odds }.
overall-worth-further = La ganancia de equilibrio es de { $gain }: la probabilidad de que la ganancia media la pague es de { $odds }, y la de que sea rentable en un lote más, de { $next }.
overall-nothing-said = De { $treatment } no se dice nada sobre varios lotes: { $reason }.
overall-scatter = De la dispersión entre los resultados de los lotes, alrededor del { $between } % se atribuye a que los lotes responden realmente distinto y el { $within } % al error dentro de cada lote. Se estima que los efectos verdaderos se reparten alrededor de su media con un desvío estándar de { $tau } { $unit }; no se puede descartar hasta { $most } { $unit }.
overall-no-scatter = Los resultados de los lotes no se dispersan más de lo que explica el error dentro de cada lote, así que no se estima dispersión de los efectos verdaderos. No se puede descartar hasta { $most } { $unit } (desvío estándar).
overall-rough = Con { $fields } estas cifras son gruesas.

## Tablas del informe conjunto

column-field = Lote
column-standard-error = Error estándar
column-weight = Peso
column-without = Todos sin él
column-measure = Medida
column-estimate = Estimación
column-of = De
column-why = Por qué
column-path = Ruta
column-interval-unit = Intervalo del 95 %, { $unit }
fields-all = todos juntos
fields-random-effects = efectos aleatorios
fields-without = { $size } ({ $interval })
fields-table = Cuánto difieren los lotes
fields-tau = desvío estándar entre lotes (τ), { $unit }
fields-i2 = parte de la dispersión que hay entre lotes (I²), %
fields-h2 = dispersión total sobre el solo error (H²)
fields-q = Q, { $df } grados de libertad
fields-p = p de un Q así si todos los lotes tuvieran un mismo efecto
fields-intervals = Intervalos
fields-headline = media de todos los lotes: Hartung y Knapp, nunca por debajo del error propio de los lotes (el que encabeza)
fields-next = un lote más: Higgins, Thompson y Spiegelhalter
fields-knapp = media, Hartung y Knapp tal cual (razón { $ratio })
fields-wald = media, con todas las varianzas tomadas como conocidas (Wald)
fields-left-out = Lo que no entró
fields-left-out-whole = todo

## El gráfico de lotes

forest-title = Lo que halló cada lote, y todos juntos
forest-about = { $crop } a { $moisture } % de humedad · tratamiento menos testigo, { $unit }
forest-lighter = { $hidden } lotes de menos peso entraron y no se dibujan
forest-left-out = Quedan afuera: { $fields }
forest-column-difference = diferencia (intervalo del 95 %)
forest-column-weight = peso
forest-both = Los dos lotes juntos
forest-all = Los { $fields } juntos
forest-further = Un lote más
forest-axis = el tratamiento rinde menos  ←   { $unit }   →  el tratamiento rinde más
forest-key-field = un lote, más grande si pesa más
forest-key-mean = media de todos
forest-key-further = un lote más
forest-key-break-even = punto de equilibrio
forest-says = Gráfico de lotes. { $said }.
forest-says-treatment = { $treatment }, { $unit }: { $fields }; todos juntos { $mean }

## Por qué algo no entró

left-out-other-crop = es de { $crop }, no de { $wanted }
left-out-same-trial = se apoya en los mismos registros y franjas que { $file }: se cuenta una vez
left-out-no-estimate = no tiene diferencia
left-out-no-standard-error-one-block = un solo bloque: una diferencia, pero nada que diga qué tan segura es
left-out-no-standard-error-none = su diferencia no tiene error estándar
left-out-no-standard-error-no-weight = su error estándar es 0 o no es creíble, así que no se puede ponderar
not-pooled-none =
    { $fields ->
        [one] ningún error estándar en { $fields } lote, así que no se puede ponderar
       *[other] ningún error estándar en ninguno de { $fields } lotes, así que ninguno se puede ponderar
    }
not-pooled-one = lo tiene un solo lote, y para el conjunto hacen falta dos
not-pooled-few =
    { $fields ->
        [one] se puede ponderar { $weighed } de { $fields } lote, y para el conjunto hacen falta dos
       *[other] se puede ponderar { $weighed } de { $fields } lotes, y para el conjunto hacen falta dos
    }

## Advertencias de una respuesta conjunta

warning-other-crop = { $file } quedó afuera: { $reason }.
warning-same-trial = { $file } quedó afuera: { $reason }.
warning-no-estimate = { $treatment }, { $field }: quedó afuera, { $reason }.
warning-no-standard-error = { $treatment }, { $field }: quedó afuera, { $reason }.
warning-two-fields = { $treatment }: dos lotes apenas pueden decir cuánto difieren los lotes. El intervalo es honesto y muy ancho; no se dice qué hará un lote más. Agregue lotes o años.
warning-few-degrees-of-freedom = { $treatment }: el error estándar se apoya en menos de { $least } grados de libertad, es decir en pocos bloques, en { $fields }. El conjunto lo toma como conocido, así que los pesos y los intervalos son más seguros de lo que deberían.
fields-every-one = todos los lotes
warning-checks-differ = { $treatment } se compara con testigos llamados { $checks }. Reunirlos solo tiene sentido si se trataron por igual.
warning-methods-differ = { $treatment }: los métodos que encabezan los lotes difieren ({ $methods }). Los que tienen en cuenta los cabezales a caballo y los que no responden preguntas algo distintas.
warning-straddling-headers-pooled = { $treatment }: hubo cabezales que cruzaron bordes de franja en { $fields }. Ahí las diferencias conservan solo parte del contraste verdadero, y también la conjunta.
warning-break-evens-differ = { $treatment }: los lotes se costearon con ganancias de equilibrio distintas, así que no se dibuja una línea común ni se dan probabilidades. Compare de nuevo con un mismo precio y costo para obtenerlas.
warning-rests-on-one-field = { $treatment }: sin «{ $field }» el intervalo incluiría el cero. La respuesta depende de ese lote.
warning-not-pooled = { $treatment } no se reunió: { $reason }.
warning-moistures-differ = Los resultados están dados a distintas humedades comerciales: todos se llevaron a { $moisture } %, sin cambiar la materia seca.
warning-bushels-differ = Los resultados pesan el bushel de manera distinta: aquí todos los bushels son de { $bushel_kg } kg. Las cifras en kg/ha no cambian por eso.
warning-same-log = { $fields } se apoyan en registros de cosecha comunes con franjas distintas. Si es un mismo ensayo dibujado dos veces, dé solo uno: contaría doble.
# Nombres en fila: cada uno por sí solo, y los dos últimos.
listed-one = «{ $name }»
listed-two = «{ $first }» y «{ $last }»
