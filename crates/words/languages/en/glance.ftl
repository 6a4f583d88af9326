## The first page

report-glance = At a glance
report-answer-in-full = The answer in full
glance-verdict =
    { $verdict ->
        [paid] paid
        [probably] probably paid
        [open] may or may not have paid
        [probably-not] probably did not pay
        [not] did not pay
        [more] yielded more
        [less] yielded less
        [same] cannot be told from no treatment
       *[unjudged] cannot be judged from these strips alone
    }
glance-sentence = { $treatment } { $verdict }: { $outcome ->
        [less] { $size } { $unit } less
       *[more] { $size } { $unit } more
    } than { $check }.
glance-sentence-pays = { $treatment } { $verdict }: { $outcome ->
        [less] { $size } { $unit } less
       *[more] { $size } { $unit } more
    } than { $check }, where a gain of { $gain } pays for it.
glance-sentence-bare = { $treatment } { $verdict }.
glance-gain = Gain over { $check }
glance-interval = 95 % interval { $interval }
glance-break-even = break-even gain { $gain }
glance-price = grain at { $price }
glance-mind =
    { $count ->
        [one] To know before believing it: { $shown } thing, told below.
       *[other] To know before believing it: { $shown } things, told below.
    }
