## Methods

method-paired-strips = paired strips
method-paired-strips-does = difference within each block, Student's t
method-randomized-blocks = randomised blocks
method-randomized-blocks-does = all treatments together, blocks allowed for
method-permutation = permutation
method-permutation-does = labels swapped within blocks every possible way
method-spatial-reml = spatial model
method-spatial-reml-does = pieces of strips, the soil’s pattern allowed for
method-swath-mixture = swath mixture
method-swath-mixture-does = pieces of passes by their share of treated ground
method-with-what-it-does = { $method }: { $does }

## What became of records

status-kept = kept
status-header-up = header up or not cutting
status-pass-start = start of a pass
status-pass-end = end of a pass
status-overlap = ground already harvested
status-speed = stopped, too slow, too fast or abrupt
status-position = position missing or jumped
status-time = time missing, repeated or wrong
status-yield-limit = yield missing or not possible
status-local-outlier = far from its neighbours
status-moisture = moisture missing or not possible

## Columns of tables

column-strip = Strip
column-treatment = Treatment
column-block = Block
column-yield = Yield, { $unit }
column-moisture = Moisture, %
column-grain = Grain, { $unit }
column-ground = Ground, { $unit }
column-covered = Covered
column-mixed = Mixed
column-records = Records
column-comparison = Comparison
column-method = Method
column-difference = Difference, { $unit }
column-interval = 95 % interval
column-p = p
column-blocks = Blocks
column-degrees-of-freedom = Degrees of freedom
column-contrast-carried = Contrast carried
column-interval-family = 95 % interval, all at once
column-p-family = p, all at once
column-count = Count
column-share = Share
column-cost-made-of = Cost made of
column-cost-per = Cost per { $unit }
column-price = Price
column-break-even = Break-even gain
column-net-per = Net per { $unit }
column-odds = Odds that it paid
column-file = File
column-sha256 = SHA-256
column-column = Column
column-from = From
column-unit-read = Unit read
column-setting = Setting
column-value = Value

## Tables

table-strips = Every strip, inside its kept-clear edge
table-comparisons = Every method that could be run, the headline first
table-cleaning = What became of the records
table-cleaning-all = all records
table-money-acre = Money per acre
table-money-hectare = Money per hectare
table-files = Files
table-files-zones = zones, { $column }
table-files-past = { $records } (past)
table-columns = Columns
table-columns-derived = derived: { $how }
table-settings = Settings
setting-check = check
setting-inset = kept clear inside each strip's edge
setting-blocks = blocks
setting-blocks-file = as the strips file says
setting-blocks-adjacency = found from which strips lie side by side
setting-crs = strips' coordinates
setting-zones = zones
setting-zones-elevation = { $classes } classes of elevation
setting-zones-past = { $classes } classes of past yields
setting-zones-drawn = as drawn
setting-zones-within = records taken together for zones, within
setting-zones-least = least ground of a strip pair in a zone
setting-row-length = length of counted rows
setting-row-spacing = distance from row to row

## What cleaning did

cleaning-delay = Grain delay { $seconds } s, { $source }.
cleaning-delay-interval = Grain delay { $seconds } s, { $source } (95 % interval { $low } to { $high } s).
cleaning-delay-estimated = estimated from the log
cleaning-delay-given = as given
cleaning-delay-kept = kept as the log had it
cleaning-smear = The grain stream is smeared over about { $seconds } s.
cleaning-ground = { $passes } by { $machines }. All footprints together cover { $covered } { $unit }; { $overlap } { $unit } of that had been harvested before by another pass and were taken off.
