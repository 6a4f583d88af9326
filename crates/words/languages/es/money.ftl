## Qué cambiaría la respuesta económica

money-turn-heading = Qué la cambiaría: { $treatment }
money-even = Con la diferencia hallada, apenas se paga con { $price }, o con un costo de { $cost }.
money-even-odds = Con la diferencia hallada, apenas se paga con { $price }, o con un costo de { $cost }; ahí la probabilidad es de 5 de cada 10.
money-even-saving = Ahorra { $saving } y pierde grano: apenas se paga con { $price }, y por encima ya no.
money-even-saving-odds = Ahorra { $saving } y pierde grano: apenas se paga con { $price }, y por encima ya no; ahí la probabilidad es de 5 de cada 10.
money-no-price = Con la diferencia hallada, ningún precio lo hace rentable: tendría que ahorrar { $saving }.
money-no-difference = Sin diferencia de rendimiento, ningún precio lo hace rentable.
money-any-price = No cuesta más que el testigo y, con la diferencia hallada, no pierde grano: es rentable a cualquier precio.
money-sure = Incluso el extremo inferior del intervalo del 95 % se paga desde { $price }, o hasta un costo de { $cost }.
money-never-sure = El extremo inferior del intervalo del 95 % no se paga a ningún precio.
money-prices-same = De { $low } a { $high } la probabilidad de que haya sido rentable sigue siendo de { $odds }.
money-prices = Con { $low } la probabilidad de que haya sido rentable es de { $low_odds }; con { $high }, de { $high_odds }.
money-grid = Probabilidad de que { $treatment } haya sido rentable, según costo y precio
money-grid-own = { $cost } (el indicado)
money-amounts = Probabilidad de que { $treatment } haya dejado al menos tanto
money-amounts-left = Margen por { $unit }
money-amounts-gain = Ganancia que hace falta
money-amounts-odds = Probabilidad
