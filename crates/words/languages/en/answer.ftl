## The answer in words

# A treatment without a name.
answer-treated = the treated
answer-no-comparison = The harvest cannot be compared: { $why ->
        [strips] no strip was given
        [check] no strip is named as the check
        [grain] no strip holds harvested ground that passed the cleaning
       *[pair] no block holds both a treatment and its check with grain from each
    }. The yields below are those of the field and its strips alone.
answer-not-known = { $treatment } strips could not be set against the { $check } strips.
answer-strips =
    { $outcome ->
        [more] { $treatment } strips yielded { $size } { $unit } more than the { $check } strips beside them
        [less] { $treatment } strips yielded { $size } { $unit } less than the { $check } strips beside them
       *[same] { $treatment } strips yielded the same as the { $check } strips beside them
    }
answer-drift =
    { $outcome ->
        [more] { $treatment } strips yielded { $size } { $unit } more than the { $check } strips once the drift of the ground across the field is allowed for
        [less] { $treatment } strips yielded { $size } { $unit } less than the { $check } strips once the drift of the ground across the field is allowed for
       *[same] { $treatment } strips yielded the same as the { $check } strips once the drift of the ground across the field is allowed for
    }
answer-mixture =
    { $outcome ->
        [more] { $treatment } ground yielded { $size } { $unit } more than { $check } ground, judged from the mix of both under every header width
        [less] { $treatment } ground yielded { $size } { $unit } less than { $check } ground, judged from the mix of both under every header width
       *[same] { $treatment } ground yielded the same as { $check } ground, judged from the mix of both under every header width
    }
answer-basis = { $said } ({ $basis }).
answer-interval = 95 % interval { $low } to { $high }
answer-one-pair = One pair is not proof: the same difference may lie between any two strips of the field. Only further blocks or years can tell.
answer-not-sure = How sure that is cannot be said from these strips.
answer-holds-zero = The interval holds zero: the strips cannot tell it from no difference.
answer-leaves-zero-out = The interval leaves zero out: strips treated alike would rarely differ this much.
answer-family-holds-zero = With { $treatments } treatments tried, one may look so by luck: the interval that allows for all of them, { $low } to { $high }, holds zero.
answer-family-leaves-zero-out = The interval that allows for all { $treatments } treatments tried, { $low } to { $high }, leaves it out as well.
answer-straddled-allowed = Headers straddled strips, so the plain difference between strips carries only about { $share } % of the contrast; this figure allows for that.
answer-straddled = Headers straddled strips: the plain difference carries only about { $share } % of the contrast, so the treatment's own effect, gain or loss, is likely larger.
answer-no-money = No price and cost were given for it, so whether it paid is not said.
answer-worth = At { $price } and a cost of { $cost } the break-even gain is { $gain }.
answer-worth-odds = At { $price } and a cost of { $cost } the break-even gain is { $gain }; the odds that it paid are { $odds }.
answer-worth-face-value = At { $price } and a cost of { $cost } the break-even gain is { $gain }; taken at face value it would leave { $net }, with no odds to put on it.
answer-together =
    { $outcome ->
        [differ] Of all { $treatments } treatments taken together, the check among them, some differ
       *[unknown] Of all { $treatments } treatments taken together, the check among them, it is not shown that any differs
    }: { $p } by { $tried ->
        [all] all { $orders } orders
       *[drawn] { $orders } drawn orders
    } that the strips could have had within their blocks, { $f_test } by the F test.

## Why the headline is that method

headline-none = No comparison: no block holds a treatment and the check.
headline-no-check = No comparison: no check was named.
headline-not-enough = No comparison: the strips are not enough for one yet.
headline-swath-mixture = Swath mixture: headers straddled the strips, so that the plain difference stands for only part of the treatment; each piece of a pass is compared by the treated share of its ground, { $blocks } blocks.
headline-randomized-blocks = Randomised blocks: { $treatments } treatments and the check in { $blocks } blocks, the noise pooled over all of them.
headline-one-block = One block only: the difference is shown, nothing is claimed from it.
headline-paired-strips = Paired strips: each treated strip against the check in its own block, { $blocks } blocks; the strip is the unit, not the record.
