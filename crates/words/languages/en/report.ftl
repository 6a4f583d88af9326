## Headings and fixed words of the report

report-question = did it pay?
report-about = { $crop } at { $moisture } % moisture, { $area } { $unit } under the header
report-answer = The answer
report-warnings = To know before believing it
report-cautions = Cautions
report-plots = Block by block
report-maps = Maps
report-map-alt = Map: { $title }. { $caption }
report-strips = Strips
report-strips-note = Yields are grain at market moisture over ground harvested for the first time, { $inset } inside each strip’s edge. Covered: share of that ground with usable records. Mixed: share of the ground under the same headers that lay in another treatment or in no strip.
report-comparisons = Comparisons
report-comparisons-note = Contrast carried: how much of the full contrast between treated and untreated ground the strips’ plain difference shows, given where the headers ran. p: how often strips treated alike would differ at least this much.
report-comparisons-family = All at once: with several treatments tried, one may look better by luck. These intervals hold for all treatments together 19 times in 20 (Dunnett), and this p allows for all of them.
report-money = Money
report-money-odds = Odds at other prices, costs and amounts
report-cleaning = Cleaning
report-inputs = Settings and files
report-footer = Written by { $tool } { $version }, results schema { $schema }. One bushel weighs { $bushel } kg. Every figure stands in results.json beside this file.

report-rates = Yield on rate
report-rates-one-rate = one rate, at the mean of the blocks
report-rates-curve = the curve used
report-rates-best = best rate, 95 % interval
report-rates-caption = The curve is drawn over the rates tried and not beyond: nothing is known there.
report-rates-note = AICc weighs how near a curve comes to the strips against how many numbers it takes; the lowest is used. Curves that fit about as well may call very different rates the best: look at all of them before buying by one.

report-zones = Where it paid
report-zones-note = Ground: treatment and check together, where a block holds enough of both. A zone’s difference weighs its blocks by their ground; what the strips of a block share over all its zones is allowed for.

report-along = Along the strips
report-along-mean = mean of the blocks
report-along-one-place = 95 % for one place by itself
report-along-all-places = 95 % for all places at once
report-along-no-difference = no difference

report-stand = Stand

report-machines = Machines and loads

## Cautions

caution-one-year = One field in one year is one field in one year: repeat the strips before changing how the whole farm is worked.
caution-wide-tools = Rollers and other wide tools run on when the tractor stops: keep people clear, hitch with the engine off, and lower or lock folding wings before anyone steps near.
caution-shafts = Keep shields on every PTO shaft, and stop it before leaving the seat.
caution-road = On the road: fold, lock, light and mark the tool, mind its width and weight on bridges and soft shoulders, and travel at the speed the tool allows.
caution-manual = Follow the machine's manual, local rules and licensed practice.
caution-fields-tried = The fields are those that happened to be tried, not a draw from all fields: what holds for them holds for others as far as soil, weather and work are alike.

## Plots

plot-differences = Difference in each block: { $comparison }
plot-differences-caption = Right of the solid line { $treatment } yielded more. Blocks that scatter across both sides of it say little, whatever their mean.
plot-differences-mixture = The blocks are plain differences, which headers across strip edges made smaller; the overall figure is that of ground treated wholly.
plot-block = block { $block }
plot-overall = overall
plot-overall-interval = overall, 95 % interval
plot-one-block = one block
plot-no-difference = no difference
plot-break-even = break-even, { $gain }
plot-strip = strip { $strip }, { $treatment }: { $yield } { $unit }
plot-yields = Yield of each strip, by block
plot-yields-caption = Strips of one block stand on one line: compare within a line, not between lines, because the ground differs from block to block.
plot-yields-axis = yield, { $unit }
