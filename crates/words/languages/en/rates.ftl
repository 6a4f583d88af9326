## Yield on rate

rates-curve-flat = flat line
rates-curve-linear = straight line
rates-curve-quadratic = quadratic curve
rates-curve-quadratic-plateau = quadratic curve with a plateau
rates-unit = unit of rate
rates-best = At { $price } and { $cost } a { $unit }, the rate that paid best was { $rate } ({ $interval }); it left { $more } more than { $lowest }.
rates-best-highest = At { $price } and { $cost } a { $unit }, the highest rate tried, { $rate }, paid best of those tried ({ $interval }), { $more } more than { $lowest }. Whether a higher rate pays more these strips cannot say.
rates-best-lowest = At { $price } and { $cost } a { $unit }, the lowest rate tried, { $rate }, paid best of those tried ({ $interval }).
rates-best-lowest-open = At { $price } and { $cost } a { $unit }, the lowest rate tried, { $rate }, paid best of those tried ({ $interval }). Whether a lower rate pays more these strips cannot say.
rates-none-clear = Yield did not follow the rate clearly enough to call any rate the best.
rates-no-money = Which rate paid best is not said: that takes price_per_bu and cost_per_unit under [payoff].
rates-join = Yield levels off from { $rate } on (95 % interval { $low } to { $high }).
rates-basis = This rests on a { $curve } through { $strips } strips in { $blocks } blocks.
rates-dot = { $rate }: { $yield } { $unit }
rates-best-mark = best rate: { $rate }
rates-axis = rate
rates-axis-unit = rate, { $unit }
rates-table = Every curve that could be fitted, the one used first
rates-column-curve = Curve
rates-column-aicc = AICc above the lowest
rates-column-scatter = Scatter about it, { $unit }
rates-column-plateau = Plateau from
rates-column-plateau-unit = Plateau from, { $unit }
rates-column-best = Best rate
rates-column-best-unit = Best rate, { $unit }
rates-column-more = More per { $unit } than the lowest rate

# Why a curve is used.
rates-why = The { $curve } has the lowest AICc of the curves tried.
rates-why-others = The { $curve } has the lowest AICc of the curves tried ({ $others }).
rates-why-other = { $curve } { $above } higher
rates-why-near = Less than { $apart } apart means about as good: the { $curves } cannot be ruled out.
rates-why-and-the = { $first } and the { $second }
rates-why-flat = These strips do not show that yield follows the rate, so no rate is called the best.
rates-why-few = A plateau can be told from a curve only with four or more rates.
