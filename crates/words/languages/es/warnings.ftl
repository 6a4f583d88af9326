## Advertencias: `warning-` y el código de la advertencia. Lo que un texto cita de un archivo queda como está.

warning-crop-assumed = No se nombró el cultivo: se supuso { $crop } a { $moisture } % de humedad y { FIGURE($bushel_kg, decimals: 1) } kg por bushel. Nómbrelo en [field] (crop = "corn") o con --crop.
warning-clock-backwards =
    { $count ->
        [one] El reloj saltó hacia atrás { $count } vez: { $places }. Los registros se tomaron en el orden del archivo y el reloj se volvió a adelantar.
       *[other] El reloj saltó hacia atrás { $count } veces: { $places }. Los registros se tomaron en el orden del archivo y el reloj se volvió a adelantar.
    }
clock-place = { $file }, fila { $row } (en { FIGURE($seconds) } s)
clock-more = y más
warning-records-sorted = { $files } archivo(s) no estaban ordenados por hora y se ordenaron.
warning-grain-delay-not-estimated = El retardo del grano no se pudo hallar en los registros ({ $note }). Si sabe que no fueron corregidos, ponga en grain_delay los segundos que tarda su máquina.
warning-yield-only-log = Los registros traen rendimientos en lugar de flujo de grano. Se tomaron como a humedad comercial y ya depurados por quien los hizo.
warning-already-cleaned = Los registros son una exportación depurada de checkstrip. Se depuraron de nuevo a partir de las columnas de la máquina, que la exportación conserva; su columna status no se usó.
warning-few-kept = Solo se conservaron { $kept } de { $cutting } registros con el cabezal abajo. Mire el mapa de registros descartados antes de confiar en la comparación.
warning-no-check = Ningún tratamiento se llama check y no se nombró ninguno como testigo: se muestran los rendimientos de las franjas, nada se compara. Los tratamientos son { $treatments }.
warning-payoff-without-check = Se dieron costos, pero sin testigo no hay ganancia con qué compararlos.
warning-zones-without-check = Se pidieron zonas, pero sin testigo no hay ganancia que dividir por zona.
warning-one-block = «{ $treatment }» y el testigo están lado a lado en un solo bloque. Un solo par no distingue un tratamiento de un pedazo de suelo mejor: su diferencia no prueba nada.
warning-straddling-headers = Muchos anchos de cabezal de «{ $treatment }» y del testigo cruzaron el borde de una franja: la simple diferencia conserva alrededor del { FIGURE($share) } % del contraste verdadero.
warning-no-shared-block = Ningún bloque tiene franjas cosechadas de «{ $treatment }» y del testigo a la vez.
warning-numbers-taken-as-rates = Los nombres de los tratamientos son números y se tomaron como dosis de una misma cosa. Si son solo nombres, como los de variedades, escríbalos de modo que empiecen con una letra.
warning-too-few-for-a-rate-curve = Los tratamientos son dosis, pero no se ajustó ninguna curva de rendimiento según la dosis: hacen falta tres dosis en dos bloques o más, con más franjas que números tiene la curva por hallar.
warning-few-blocks-in-zone = «{ $treatment }» y el testigo coinciden solo en la zona { $zones }: lo que ahí se muestra no prueba nada.
few-blocks-in-zone =
    { $blocks ->
        [one] «{ $zone }» en { $blocks } bloque
       *[other] «{ $zone }» en { $blocks } bloques
    }
warning-ground-in-no-zone = El { FIGURE($share) } % del suelo cosechado en las franjas no está en ninguna zona y no interviene en la respuesta por zona.
warning-zones-overlap = { $records } registros en las franjas están en polígonos de más de una zona: cuenta el polígono que viene primero en el archivo.
warning-past-harvest-gaps = { $file } tiene rendimientos utilizables alrededor del { FIGURE($share) } % del suelo de las franjas; en el resto las zonas se apoyan solo en las otras cosechas anteriores.
warning-past-harvest = { $file }: { $said }
# Una frase que queda como la escribió el programa.
said-as-it-is = { $said }
warning-strips-without-block =
    { $count ->
        [one] La franja { $strips } no tiene bloque, mientras que otras sí: no interviene en las comparaciones dentro de bloques.
       *[other] Las franjas { $strips } no tienen bloque, mientras que otras sí: no intervienen en las comparaciones dentro de bloques.
    }
warning-blocks-from-adjacency = Las franjas no traen bloques. A lo largo de la fila de franjas se tomaron como bloque las vecinas que tienen cada tratamiento una vez.
warning-blocks-from-adjacency-alone = Las franjas no traen bloques. A lo largo de la fila de franjas se tomaron como bloque las vecinas que tienen cada tratamiento una vez; { $alone } franja(s) no hallaron pareja.
warning-strips-overlap = { $count } par(es) de franjas reclaman el mismo suelo: { $pairs }. Ese suelo se dejó fuera de ambas.
strips-overlap-pair = { $first } y { $second } ({ FIGURE($area) } m²)
warning-inset-leaves-nothing = Nada queda de la(s) franja(s) { $strips } una vez que se dejan libres { FIGURE($inset, decimals: 1) } m dentro de sus bordes: dibújelas más anchas o ponga un margen menor.
warning-strip-not-harvested = Ningún registro conservado está en la(s) franja(s) { $strips }: ninguna pasada las tocó, o se descartaron todos sus registros.
warning-stand-counts-left-out = { $left_out } de { $counts } conteos de plantas quedaron afuera: { $reasons }.
warning-strip-not-counted = Ningún conteo de plantas está en la(s) franja(s) { $strips }.
warning-one-order-drawn = Los { $blocks } bloques tienen sus tratamientos en un mismo orden, de { $from }: { $treatments }. Sorteando bloque por bloque, un lote de cada { FIGURE($times) } sale así. Si el orden no se sorteó, los valores p y los intervalos son solo cálculos: lo que atraviese el lote, como una pendiente, un lado húmedo o un surco de la sembradora, favorece al mismo tratamiento en todos los bloques, y más bloques no lo compensan. La próxima vez, sortee el orden bloque por bloque.
warning-one-order-rare = Los { $blocks } bloques tienen sus tratamientos en un mismo orden, de { $from }: { $treatments }. Sorteando bloque por bloque, ni un lote en un millón sale así. Si el orden no se sorteó, los valores p y los intervalos son solo cálculos: lo que atraviese el lote, como una pendiente, un lado húmedo o un surco de la sembradora, favorece al mismo tratamiento en todos los bloques, y más bloques no lo compensan. La próxima vez, sortee el orden bloque por bloque.

# De dónde a dónde se nombran las franjas.
one-order-south-north = sur a norte
one-order-southwest-northeast = suroeste a noreste
one-order-west-east = oeste a este
one-order-northwest-southeast = noroeste a sureste

## Cómo se halló el retardo del grano

grain-delay-given = indicado por el usuario
grain-delay-few-pairs = solo { $pairs } pares de registros en pasadas vecinas opuestas (pasadas muy cortas, o todas en una misma dirección): los registros se dejan como están
grain-delay-no-minimum = el desacuerdo de pasadas opuestas no tiene un mínimo en el rango probado: los registros se dejan como están
grain-delay-not-clear = el desacuerdo de pasadas opuestas no tiene un mínimo claro: los registros se dejan como están
grain-delay-not-sure =
    { $smeared ->
        [yes] { $pairs } pares de registros en { $passes } pasadas vecinas opuestas concuerdan mejor con { FIGURE($shift, decimals: 1) } s (desacuerdo del { FIGURE($left) } % del que hay sin corrimiento); el flujo se reparte en { FIGURE($smear, decimals: 1) } s, pero puede ser cualquier valor de { FIGURE($low, decimals: 1) } s a { FIGURE($high, decimals: 1) } s: los registros se dejan como están
       *[no] { $pairs } pares de registros en { $passes } pasadas vecinas opuestas concuerdan mejor con { FIGURE($shift, decimals: 1) } s (desacuerdo del { FIGURE($left) } % del que hay sin corrimiento), pero puede ser cualquier valor de { FIGURE($low, decimals: 1) } s a { FIGURE($high, decimals: 1) } s: los registros se dejan como están
    }
grain-delay-corrected =
    { $smeared ->
        [yes] { $pairs } pares de registros en { $passes } pasadas vecinas opuestas concuerdan mejor con { FIGURE($shift, decimals: 1) } s (desacuerdo del { FIGURE($left) } % del que hay sin corrimiento); el flujo se reparte en { FIGURE($smear, decimals: 1) } s: ya venían corregidos, los registros se dejan como están
       *[no] { $pairs } pares de registros en { $passes } pasadas vecinas opuestas concuerdan mejor con { FIGURE($shift, decimals: 1) } s (desacuerdo del { FIGURE($left) } % del que hay sin corrimiento): ya venían corregidos, los registros se dejan como están
    }
grain-delay-estimated =
    { $smeared ->
        [yes] { $pairs } pares de registros en { $passes } pasadas vecinas opuestas concuerdan mejor con { FIGURE($shift, decimals: 1) } s (desacuerdo del { FIGURE($left) } % del que hay sin corrimiento); el flujo se reparte en { FIGURE($smear, decimals: 1) } s
       *[no] { $pairs } pares de registros en { $passes } pasadas vecinas opuestas concuerdan mejor con { FIGURE($shift, decimals: 1) } s (desacuerdo del { FIGURE($left) } % del que hay sin corrimiento)
    }
