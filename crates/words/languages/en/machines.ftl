## Several machines and scale tickets

machines-held = Machines were held against each other where their swaths lie side by side: { $why }.
machines-held-alike = Machines were held against each other where their swaths lie side by side and the same was done to the ground: { $why }.
machines-group = { $machines }: { $stretches } of { $pairs }, p { $p }.
count-stretches =
    { $count ->
        [one] { $shown } stretch
       *[other] { $shown } stretches
    }
count-pass-pairs =
    { $count ->
        [one] { $shown } pair of passes
       *[other] { $shown } pairs of passes
    }
count-tickets =
    { $count ->
        [one] { $shown } ticket
       *[other] { $shown } tickets
    }
machines-tickets = Scale tickets: { $used } of { $tickets } used; every weighed load was brought to its ticket.
machines-unweighed = { $grain } { $unit } of the log are in no weighed load and have their machine’s factor.
machines-table-beside = Machines beside each other
machines-table-shares = Which machine cut how much of each treatment
machines-table-tickets = Factors of the machines by scale tickets
machines-table-loads = Loads
machines-column-machine = machine
machines-column-treatment = treatment
machines-column-logged = logged, { $unit }
machines-column-weighed = weighed, { $unit }
machines-column-neighbour-factor = factor by neighbouring swaths
machines-column-stretches = stretches
machines-column-factor-used = factor used
machines-column-factor = factor
machines-column-loads = loads
machines-column-from = from
machines-column-load = load
machines-column-residual = off its machines’ factors
machines-column-used = used
machines-from-tickets = tickets
machines-from-neighbours = neighbouring swaths
machines-from-log = as logged
machines-load-row = row { $row }
machines-load-used = yes
machines-load-left = no: { $why }

## Why grain was multiplied by what neighbouring swaths say, or was not

machine-why-none-beside = no two machines cut enough ground beside each other to be compared
machine-why-switched-off = machine_bias is off: the factors are reported only
machine-why-tickets-carried = scale tickets set the level, and neighbouring swaths carried it to machines without tickets
machine-why-tickets = scale tickets set the level of every machine that swaths join
machine-why-beyond-chance = machines differ by more than chance on neighbouring swaths
machine-why-within-chance = machines differ by no more than chance on neighbouring swaths

## Why a ticket was not used

ticket-left-no-mass = it has no mass above 0
ticket-left-moisture = its moisture is { $moisture } %, expected percent from 0 to 90
ticket-left-unknown-machine = no machine of the log is called "{ $machine }": they are { $machines }
ticket-left-no-load = it names no load
ticket-left-no-time = it has no start and end
ticket-left-no-span = its end is not after its start
ticket-left-said-again = it says again what row { $row } says
ticket-left-differing = rows { $rows } say different masses of one load: add them up in one row if all of them were weighed
ticket-left-overlapping = its time overlaps that of row { $row }
ticket-left-no-record = no record of the log is of the load "{ $load }"
ticket-left-no-record-in-time = the log has no record in its time
ticket-left-no-grain = the log holds no grain of it
ticket-left-not-believed = it weighed { FIGURE($weighed) } kg where the log holds { FIGURE($logged) } kg, { FIGURE($times, decimals: 2) } times as much: look for a wrong unit, another load, or grain of another field in it

## Warnings: `warning-` and the warning's code

warning-machine-bias = The machines read differently where they cut beside each other. Their grain was multiplied: { $machines }. The grain of all together stays as logged: only scale tickets can tell how much it truly was.
warning-machine-bias-left = The machines read differently where they cut beside each other, and machine_bias is off: nothing was done. It would take { $machines }.
machine-factor = { $machine } × { FIGURE($factor, decimals: 3) } (95 % interval { FIGURE($low, decimals: 3) } to { FIGURE($high, decimals: 3) })
warning-machine-without-tickets = No ticket is of { $machines }: the level of the weighed machines was carried over by the swaths that lie beside theirs.
warning-machine-bias-large = { $machines } read more than 20 % off the others where they cut side by side. That is more than a sensor out of calibration usually is: check header width, units and crop of that machine's log.
warning-machine-not-joined = Not enough ground cut beside another machine, and no scale ticket: { $machines }. Whether it reads like the others is not known, and its grain was left as logged. Scale tickets of its loads would settle it.
machine-too-little = { $machine } (too little of it)
warning-tickets-not-used = { $path }: { $left } of { $tickets } tickets were not used ({ $reasons }).
ticket-in-row = row { $row }: { $why }
tickets-more = and { $more } more
warning-loads-without-ticket =
    { $count ->
        [one] { $count } load of the log has no ticket that was used ({ $loads }): the grain got its machine's factor.
       *[other] { $count } loads of the log have no ticket that was used ({ $loads }): the grain got its machine's factor.
    }
warning-tickets-do-not-part-machines = The machines filled about the same share of every weighed load, so that tickets cannot tell them apart: all of them got one factor, times what neighbouring swaths say of them.
warning-machine-confounded = Machine and treatment go together: { $machines } cut { $treatment }, { $check_machines } cut { $check }. { $known } To tell them apart, give scale tickets of every machine's loads (tickets under [harvest]); another year let each machine cut treated and check strips of the same block.
machine-share = { $machine } ({ FIGURE($share) } %)
machine-known-tickets = Scale tickets set the level of each of them, so that the comparison stands, as sure as the tickets are.
machine-known-not = How these machines read beside each other on ground of one treatment is not known: a difference between the machines looks just like an effect of the treatment, and the comparison cannot tell which it is.
machine-known-taken-out = They were held against each other only where the same was done to the ground. What they read differently there was taken out; how surely that is known leaves the advantage uncertain by another { FIGURE($bushels, decimals: 1) } bu/ac ({ FIGURE($kg) } kg/ha) either way, which its interval does not hold.
machine-known-left = They were held against each other only where the same was done to the ground. What they read differently there was not taken out; how surely that is known leaves the advantage uncertain by another { FIGURE($bushels, decimals: 1) } bu/ac ({ FIGURE($kg) } kg/ha) either way, which its interval does not hold.
