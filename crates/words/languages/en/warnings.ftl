## Warnings: `warning-` and the warning's code. What a text quotes from a file stays as it is.

warning-crop-assumed = No crop was named: { $crop } at { $moisture } % moisture and { FIGURE($bushel_kg, decimals: 1) } kg a bushel was assumed. Name it under [field] (crop = "corn") or with --crop.
warning-clock-backwards =
    { $count ->
        [one] The clock jumped backwards { $count } time: { $places }. The records were taken in file order and the clock set forward again.
       *[other] The clock jumped backwards { $count } times: { $places }. The records were taken in file order and the clock set forward again.
    }
clock-place = { $file }, row { $row } (by { FIGURE($seconds) } s)
clock-more = and more
warning-records-sorted = { $files } file(s) were not in order of time and were sorted.
warning-grain-delay-not-estimated = The grain delay could not be found from the log ({ $note }). If you know that the log was not corrected, set grain_delay to the seconds your machine takes.
warning-yield-only-log = The log carries yields instead of grain flow. They were taken to be at market moisture, and cleaned already by whoever made them.
warning-already-cleaned = The log is a cleaned export of checkstrip. It was cleaned again from the machine's own columns, which the export keeps; its status column was not used.
warning-few-kept = Only { $kept } of { $cutting } records with the header down were kept. Look at the map of removed records before trusting the comparison.
warning-no-check = No treatment is called check, and none was named as the check: strip yields are shown, nothing is compared. The treatments are { $treatments }.
warning-payoff-without-check = Costs were given, but without a check there is no gain to set against them.
warning-zones-without-check = Zones were asked for, but without a check there is no gain to split by zone.
warning-one-block = "{ $treatment }" and the check stand side by side in one block only. One pair cannot tell a treatment from a better piece of ground: its difference is no proof.
warning-straddling-headers = Many header widths of "{ $treatment }" and the check reached across a strip's edge: the plain difference carries about { FIGURE($share) } % of the true contrast.
warning-no-shared-block = No block holds harvested strips of both "{ $treatment }" and the check.
warning-numbers-taken-as-rates = The treatments' names are numbers and were taken as rates of one thing. If they are only names, such as those of varieties, write them so that a letter comes first.
warning-too-few-for-a-rate-curve = The treatments are rates, but no curve of yield on rate was fitted: that needs three rates in two blocks or more, with more strips than the curve has numbers to find.
warning-few-blocks-in-zone = "{ $treatment }" and the check meet in zone { $zones } only: what is shown there is no proof of anything.
few-blocks-in-zone =
    { $blocks ->
        [one] "{ $zone }" in { $blocks } block
       *[other] "{ $zone }" in { $blocks } blocks
    }
warning-ground-in-no-zone = { FIGURE($share) } % of the ground harvested on the strips lies in no zone and takes no part in the answer by zone.
warning-zones-overlap = { $records } records on the strips lie in polygons of more than one zone: the polygon that comes first in the file counts.
warning-past-harvest-gaps = { $file } has usable yields around { FIGURE($share) } % of the strips' ground; zones elsewhere rest on the other past harvests alone.
warning-past-harvest = { $file }: { $said }
# A sentence that stays as the program wrote it.
said-as-it-is = { $said }
warning-strips-without-block =
    { $count ->
        [one] Strip { $strips } has no block, while others have: it takes no part in comparisons within blocks.
       *[other] Strips { $strips } have no block, while others have: they take no part in comparisons within blocks.
    }
warning-blocks-from-adjacency = The strips carry no blocks. Along the row of strips, neighbours that hold every treatment once were taken as a block.
warning-blocks-from-adjacency-alone = The strips carry no blocks. Along the row of strips, neighbours that hold every treatment once were taken as a block; { $alone } strip(s) found no partner.
warning-strips-overlap = { $count } pair(s) of strips claim the same ground: { $pairs }. That ground was left out of both.
strips-overlap-pair = { $first } and { $second } ({ FIGURE($area) } m²)
warning-inset-leaves-nothing = Nothing is left of strip(s) { $strips } once { FIGURE($inset, decimals: 1) } m are kept clear inside their edges: draw them wider or set a smaller inset.
warning-strip-not-harvested = No kept record lies on strip(s) { $strips }: no pass touched them, or all their records were dropped.
warning-stand-counts-left-out = { $left_out } of { $counts } stand counts were left out: { $reasons }.
warning-strip-not-counted = No stand count lies in strip(s) { $strips }.
warning-one-order-drawn = All { $blocks } blocks hold their treatments in one order, from { $from }: { $treatments }. Drawn block by block, one field in { FIGURE($times) } comes out so. If the order was not drawn, p values and intervals are computations only: whatever runs across the field, such as a slope, a wet side or a row of the planter, favours the same treatment in every block, and more blocks do not average it out. Draw the order block by block next time.
warning-one-order-rare = All { $blocks } blocks hold their treatments in one order, from { $from }: { $treatments }. Drawn block by block, not one field in a million comes out so. If the order was not drawn, p values and intervals are computations only: whatever runs across the field, such as a slope, a wet side or a row of the planter, favours the same treatment in every block, and more blocks do not average it out. Draw the order block by block next time.

# From where to where strips are named.
one-order-south-north = south to north
one-order-southwest-northeast = south-west to north-east
one-order-west-east = west to east
one-order-northwest-southeast = north-west to south-east

## How the grain delay was found

grain-delay-given = given by the user
grain-delay-few-pairs = only { $pairs } pairs of records on opposite neighbouring passes (passes too short, or all driven in one direction): the log is kept as it is
grain-delay-no-minimum = the mismatch of opposite passes has no minimum in the range tried: the log is kept as it is
grain-delay-not-clear = the mismatch of opposite passes has no clear minimum: the log is kept as it is
grain-delay-not-sure =
    { $smeared ->
        [yes] { $pairs } pairs of records on { $passes } opposite neighbouring passes agree best at { FIGURE($shift, decimals: 1) } s (mismatch { FIGURE($left) } % of that without a shift); the stream smears over { FIGURE($smear, decimals: 1) } s, but it may be anything from { FIGURE($low, decimals: 1) } s to { FIGURE($high, decimals: 1) } s: the log is kept as it is
       *[no] { $pairs } pairs of records on { $passes } opposite neighbouring passes agree best at { FIGURE($shift, decimals: 1) } s (mismatch { FIGURE($left) } % of that without a shift), but it may be anything from { FIGURE($low, decimals: 1) } s to { FIGURE($high, decimals: 1) } s: the log is kept as it is
    }
grain-delay-corrected =
    { $smeared ->
        [yes] { $pairs } pairs of records on { $passes } opposite neighbouring passes agree best at { FIGURE($shift, decimals: 1) } s (mismatch { FIGURE($left) } % of that without a shift); the stream smears over { FIGURE($smear, decimals: 1) } s: corrected already, the log is kept as it is
       *[no] { $pairs } pairs of records on { $passes } opposite neighbouring passes agree best at { FIGURE($shift, decimals: 1) } s (mismatch { FIGURE($left) } % of that without a shift): corrected already, the log is kept as it is
    }
grain-delay-estimated =
    { $smeared ->
        [yes] { $pairs } pairs of records on { $passes } opposite neighbouring passes agree best at { FIGURE($shift, decimals: 1) } s (mismatch { FIGURE($left) } % of that without a shift); the stream smears over { FIGURE($smear, decimals: 1) } s
       *[no] { $pairs } pairs of records on { $passes } opposite neighbouring passes agree best at { FIGURE($shift, decimals: 1) } s (mismatch { FIGURE($left) } % of that without a shift)
    }
