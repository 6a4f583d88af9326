## Where it paid: zones

zones-elevation =
    { $count ->
        [one] The ground is parted by its height: { $classes } class of the log’s own elevation, each with about the same ground on the strips. The height at a record is the median of the records within { $radius }, because single readings are noisy.
       *[other] The ground is parted by its height: { $classes } classes of the log’s own elevation, each with about the same ground on the strips. The height at a record is the median of the records within { $radius }, because single readings are noisy.
    }
zones-past =
    The ground is parted by what it yielded in { $harvests ->
        [one] { $shown_harvests } past harvest
       *[other] { $shown_harvests } past harvests
    }: { $count ->
        [one] { $classes } class
       *[other] { $classes } classes
    } of the yield relative to each harvest’s mean, averaged over the records within { $radius }. This year’s yields had no say.
zones-drawn = The ground is parted as drawn in { $file }.
zones-middle = A record belongs to the zone in which the middle of its ground lies.
zones-none = { $area } { $unit } on the strips ({ $share }) lie in no zone and are left out here.
zones-few = For { $comparison } there are too few blocks in the zones to tell whether the difference changes from zone to zone.
zones-f = F = { $f } on { $df_zones } and { $df_error } degrees of freedom, { $p }
zones-differ = For { $comparison } the difference changes from zone to zone by more than luck would often bring ({ $test }).
zones-alike = For { $comparison } these strips cannot tell the zones apart. Were the difference the same everywhere, zones would often look as unlike as these ({ $test }). The answer for the whole field is then the better guess for every zone.
zones-chances = { $zones } zones are { $zones } chances: each interval holds by itself 19 times in 20, so one may miss by luck. A zone that was picked after a look at the yields proves nothing; look for the same zone in another year.
zones-one-block = In { $zones } treatment and check meet in one block only: the difference is shown, nothing is claimed from it.
zones-two-blocks = In { $zones } treatment and check meet in two blocks only: its interval rests on the scatter of the other zones as well and is no proof.
zones-left-out =
    { $count ->
        [one] { $shown } piece of a zone in a block held too little ground of one or the other and were left out, { $area } { $unit } in all.
       *[other] { $shown } pieces of a zone in a block held too little ground of one or the other and were left out, { $area } { $unit } in all.
    }
zones-plot = Difference in each zone: { $comparison }
zones-plot-caption = Right of the solid line { $treatment } yielded more. Intervals that overlap widely do not tell zones apart.
zones-plot-zone = one zone, 95 % interval
zones-plot-whole = whole field
zones-plot-whole-interval = whole field, 95 % interval
zones-table = Treatment and check, zone by zone
zones-column-zone = Zone
zones-column-height = Height
zones-column-past = Past yield, share of the mean
zones-column-check = Yield of the check, { $unit }

# Names of classes; drawn zones keep their own.
zone-low-ground = low ground
zone-middle-ground = middle ground
zone-high-ground = high ground
zone-low-yield = low yield
zone-middle-yield = middle yield
zone-high-yield = high yield
zone-lowest = { $class } (lowest)
zone-highest = { $class } (highest)

## Along the strips

along-title = { $comparison } along the strips
along-intro = Where along the strips did it gain? Each point of a chart is the mean of the blocks over { $window } of driving, and every { $step } there is a new one, so neighbouring points share ground. Distances count from the { $end } end.
along-left-out =
    { $count ->
        [one] Left out: { $shown } strip, which runs another way than most.
       *[other] Left out: { $shown } strips, which run another way than most.
    }
along-untested = With { $blocks } and { $windows } nothing can be said about luck along the strips: three blocks and two windows are the least.
along-few-blocks = With { $blocks } no stretch can be told from luck: the smallest p that so few can give is { $p }, whatever the yields. Six blocks or more are needed.
along-no-change = Nothing shows that the advantage changes along the strips ({ $p }): ups and downs like those in the chart come about by the luck of the ground alone. Do not treat parts of the field differently for them.
along-change =
    { $outcome ->
        [more] The advantage changes along the strips by more than luck ({ $p }). What stands out most is { $stretch }, where it is { $size } { $unit } more than its mean along the strips.
       *[less] The advantage changes along the strips by more than luck ({ $p }). What stands out most is { $stretch }, where it is { $size } { $unit } less than its mean along the strips.
    }
along-gained-and-lost = With all windows judged at once, it gained from { $gain }, and lost from { $loss }; that there is no difference anywhere has { $p }.
along-gained = With all windows judged at once, it gained from { $gain }; that there is no difference anywhere has { $p }.
along-lost = With all windows judged at once, it lost from { $loss }; that there is no difference anywhere has { $p }.
along-somewhere = Somewhere along the strips it differs from the check by more than luck ({ $p }), but with all windows judged at once no one stretch is sure.
along-nowhere = With all windows judged at once, no stretch differs from zero by more than luck ({ $p }).
along-surest = That is where it is surest, not where it is larger than elsewhere.
along-caption-wide = Read the wide band: it holds at all places at once, about 19 times in 20. The narrow one holds 19 times in 20 at a place chosen before the harvest; among many places, about one in twenty leaves the line of no difference out by luck alone.
along-caption-narrow = The band holds 19 times in 20 at a place chosen before the harvest; among many places, about one in twenty leaves the line of no difference out by luck alone.
along-caption-none = One block: there is nothing to judge its ups and downs by.
along-axis = distance from the { $end } end, { $unit }
along-dot = { $stretch }: { $size } { $unit }, { $blocks }
along-none-one-way = Nothing was harvested on strips that run along one direction.
along-none-short = The strips are too short to be looked at in parts: windows shorter than 30 m (100 ft) would show little but grain that the combine had mixed.
along-none-no-block = No block holds a treatment and the check side by side along the strips.

compass-north = north
compass-north-east = north-east
compass-east = east
compass-south-east = south-east
compass-south = south
compass-south-west = south-west
compass-west = west
compass-north-west = north-west
