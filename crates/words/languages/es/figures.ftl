### Las palabras de checkstrip en español, en la forma de Project Fluent (projectfluent.org). Cómo hacer un archivo
### propio está en docs/languages.md.

## El idioma y sus cifras

language-tag = es
# La coma decimal, y entre grupos de tres cifras un espacio fino que no se parte (U+202F): ISO 80000-1:2009, 7.3,
# pide un espacio pequeño y ni punto ni coma, porque de un país a otro quieren decir cosas distintas. Donde el uso
# sea otro (en México y Centroamérica punto decimal y coma de miles), un archivo propio pone otros signos.
decimal-mark = { "," }
group-mark = { "\u202F" }

percent = { $share } %
percent-small = < { $share } %
percent-large = > { $share } %
p-small = < { $p }
p-equals = p = { $p }
p-below = p < { $p }
range = { $low } a { $high }
range-with-unit = { $low } a { $high } { $unit }
difference-name = { $treatment } menos { $check }
joined-and = { $first } y { $second }

## Dinero

money = ${ $amount }
money-negative = −${ $amount }
price-per-bushel = { $money } por bushel
price-per-tonne = { $money } por tonelada
money-per-acre = { $money } por acre
money-per-hectare = { $money } por hectárea
unit-plants-acre = plantas/ac
unit-plants-hectare = plantas/ha

## Probabilidades, como se dicen en voz alta

odds-99-in-100 = más de 99 de cada 100
odds-19-in-20 = más de 19 de cada 20
odds-1-in-100 = menos de 1 de cada 100
odds-1-in-20 = menos de 1 de cada 20
odds-in-10 = unas { $times } de cada 10

## Cantidades

count-blocks =
    { $count ->
        [one] { $shown } bloque
       *[other] { $shown } bloques
    }
count-passes =
    { $count ->
        [one] { $shown } pasada
       *[other] { $shown } pasadas
    }
count-machines =
    { $count ->
        [one] { $shown } máquina
       *[other] { $shown } máquinas
    }
count-strips =
    { $count ->
        [one] { $shown } franja
       *[other] { $shown } franjas
    }
count-stand-counts =
    { $count ->
        [one] { $shown } conteo de plantas
       *[other] { $shown } conteos de plantas
    }
count-windows =
    { $count ->
        [one] { $shown } ventana
       *[other] { $shown } ventanas
    }
count-fields =
    { $count ->
        [one] { $shown } lote
       *[other] { $shown } lotes
    }

## Cultivos conocidos por su nombre; cualquier otro queda como fue dado

crop-soybean = soya
crop-corn = maíz
crop-wheat = trigo
crop-barley = cebada
crop-oats = avena
crop-rye = centeno
crop-sorghum = sorgo
crop-canola = canola
crop-sunflower = girasol
crop-dry-bean = frijol seco
