## Maps

map-yield-before = Yield as logged
map-yield-before-caption = Every record with the header down, as the monitor logged it: grain not yet moved back to where it was cut, nothing dropped. Same classes as the cleaned map.
map-yield-after = Yield after cleaning
map-yield-after-caption = The records that count, with grain moved back to where it was cut and ground harvested twice taken out. Ground whose records were dropped is grey.
map-removed-records = Records dropped by cleaning
map-removed-records-caption = Dropped records by reason. They should lie at pass ends, on headlands and where the machine stopped; a reason that covers whole strips deserves a second look.
map-strip-yields = Strips and their yields
map-strip-yields-caption = Treatments by hatching, with each strip's block and yield. The grey bands beneath are the combine's passes: where one crosses a strip's edge, its grain is a mix.
map-advantage-along = Advantage along the strips
map-advantage-along-of = Advantage along the strips: { $treatment }
map-advantage-along-caption = Where each treated strip yielded more (purple) or less (orange) than the check strip of its block, place by place. A colour that runs through all blocks at one distance along the strips means more than one that stands in a single strip.
map-zones = Zones under the strips
map-zones-caption = The zones by which the answer is split, each record's ground in the zone that its middle lies in, and the strips over them.

map-about = { $field } · { $crop } at { $moisture } % moisture · { $counted }
map-nothing = No record has a position: there is nothing to map.
# The letter on the arrow that points north.
map-north = N
map-also-shown = Also shown
map-strip = strip
map-yield-heading = Yield, { $unit }
map-no-record = There is no record to show.
map-steps = Equal steps, open ends, the same on both yield maps; % of the ground shown.
map-class-under = under { $to }
map-class-over = { $from } or more
map-class-all-near = all near { $middle }
map-header-down = { $shown } of { $records } records, header down, nothing put right
map-kept = { $shown } of { $records } records kept
map-dropped = { $shown } of { $records } records dropped
map-records-dropped = records dropped
map-dropped-heading = Dropped, records
map-none-dropped = No record was dropped.
map-marks-thinned = Marks are thinned where they would touch.
map-no-strips = no strips
map-treatments-heading = Treatment, strips
map-treatment-check = { $treatment } (check)
map-more-treatments = and { $more } more treatments, in the strip table
map-no-strips-note = There are no strips.
map-in-each-strip = In each strip: block · yield, { $unit }.
map-too-small =
    { $count ->
        [one] { $shown } strip is too small here for a figure: see the strip table.
       *[other] { $shown } strips are too small here for a figure: see the strip table.
    }
map-passes = combine passes, records kept
map-no-yield = no yield
map-along-about = { $field } · { $crop } at { $moisture } % moisture · { $comparison }, over { $window } of driving
map-along-heading = { $comparison }, { $unit }
map-along-note = In each treated strip: its difference from the check strip of its block, over { $window } of driving around each place.
map-along-luck = Single blocks scatter by luck. The chart in the report says what is more than that.
map-along-check = check strip
map-along-others = other treatments
map-along-unknown = treated, no check beside it
map-zones-about = { $field } · { $zones } zones { $by ->
        [elevation] by elevation
        [past] by past yields
       *[drawn] as drawn
    } · { $strips } strips
map-zones-heading = Zone, ground on the strips
map-zones-heading-height = Zone (height, { $unit }), ground on the strips
map-zones-heading-past = Zone (past yield, % of the mean), ground on the strips
map-zones-no-zone = in no zone
map-zones-elevation = Elevation of the log, records within { $distance } taken together; classes of equal ground.
map-zones-past = Yield of past harvests, records within { $distance } taken together; classes of equal ground.
map-zones-strip = strip: block · treatment
