## Rendimiento según la dosis

rates-curve-flat = línea plana
rates-curve-linear = línea recta
rates-curve-quadratic = curva cuadrática
rates-curve-quadratic-plateau = curva cuadrática con meseta
rates-unit = unidad de dosis
rates-best = Con { $price } y { $cost } por { $unit }, la dosis más rentable fue { $rate } ({ $interval }); dejó { $more } más que { $lowest }.
rates-best-highest = Con { $price } y { $cost } por { $unit }, la dosis más alta probada, { $rate }, fue la más rentable de las probadas ({ $interval }), { $more } más que { $lowest }. Si una dosis más alta deja más, estas franjas no lo pueden decir.
rates-best-lowest = Con { $price } y { $cost } por { $unit }, la dosis más baja probada, { $rate }, fue la más rentable de las probadas ({ $interval }).
rates-best-lowest-open = Con { $price } y { $cost } por { $unit }, la dosis más baja probada, { $rate }, fue la más rentable de las probadas ({ $interval }). Si una dosis más baja deja más, estas franjas no lo pueden decir.
rates-none-clear = El rendimiento no siguió a la dosis con suficiente claridad como para decir cuál fue la mejor.
rates-no-money = No se dice qué dosis fue la más rentable: para eso hacen falta price_per_bu y cost_per_unit en [payoff].
rates-join = El rendimiento se estabiliza desde { $rate } (intervalo del 95 % de { $low } a { $high }).
rates-basis = Esto se apoya en una { $curve } a través de { $strips } franjas en { $blocks } bloques.
rates-dot = { $rate }: { $yield } { $unit }
rates-best-mark = mejor dosis: { $rate }
rates-axis = dosis
rates-axis-unit = dosis, { $unit }
rates-table = Todas las curvas que se pudieron ajustar, primero la usada
rates-column-curve = Curva
rates-column-aicc = AICc sobre el más bajo
rates-column-scatter = Dispersión alrededor, { $unit }
rates-column-plateau = Meseta desde
rates-column-plateau-unit = Meseta desde, { $unit }
rates-column-best = Mejor dosis
rates-column-best-unit = Mejor dosis, { $unit }
rates-column-more = Más por { $unit } que la dosis más baja

# Por qué se usa una curva.
rates-why = La { $curve } tiene el AICc más bajo de las curvas probadas.
rates-why-others = La { $curve } tiene el AICc más bajo de las curvas probadas ({ $others }).
rates-why-other = { $curve } { $above } más
rates-why-near = Menos de { $apart } de diferencia quiere decir casi igual de buena: no se puede descartar la { $curves }.
rates-why-and-the = { $first } ni la { $second }
rates-why-flat = Estas franjas no demuestran que el rendimiento siga a la dosis, así que ninguna dosis se da por la mejor.
rates-why-few = Una meseta solo se puede distinguir de una curva con cuatro dosis o más.
