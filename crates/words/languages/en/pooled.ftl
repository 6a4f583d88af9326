## The report of many fields: fixed words

pooled-title = { $treatments }: { $fields } pooled
pooled-about = { $crop } at { $moisture } % moisture
pooled-forest = Field by field
pooled-forest-caption = Each line is one field’s own 95 % interval, each square what it found; larger squares weigh more. The diamond is the mean of all fields with its interval. The pale bar is where one further field’s own effect is to be expected. An arrow goes on beyond the scale.
pooled-without = All without it: the mean and its interval when that field is left out. An answer that turns when one field goes is that field’s answer.
pooled-differ = Do the fields differ?
pooled-sure = How sure is the mean?
pooled-left-out = Left out
pooled-method = Method
pooled-method-words = From each field enters the headline comparison of its results file: the first one of each treatment. A random-effects meta-analysis lets every field have an effect of its own. The variance between fields is estimated by restricted maximum likelihood; fields are weighted by 1 ÷ (their own variance + the variance between fields). The interval of the mean is Hartung and Knapp’s, t with fields − 1 degrees of freedom; where the fields agree more closely than their own noise lets expect, it is not allowed to become narrower than that noise. The interval for one further field is t with fields − 2 degrees of freedom.
pooled-method-known = Each field’s standard error is taken as known. It is not: with few blocks it is itself a rough estimate, and the pooled interval is then somewhat too narrow.
pooled-files = Files
pooled-footer = Written by { $tool } { $version }, schema { $schema }. One bushel weighs { $bushel } kg. Every figure stands in pooled.json beside this file.

## The pooled answer

checks-or = { $first } or { $second }
overall-strips =
    { $outcome ->
        [more] Over { $fields }, { $treatment } strips yielded { $size } { $unit } more than the { $checks } strips beside them on average (95 % interval { $low } to { $high } { $unit }).
        [less] Over { $fields }, { $treatment } strips yielded { $size } { $unit } less than the { $checks } strips beside them on average (95 % interval { $low } to { $high } { $unit }).
       *[same] Over { $fields }, { $treatment } strips yielded the same as the { $checks } strips beside them on average (95 % interval { $low } to { $high } { $unit }).
    }
overall-holds-zero = The interval holds zero: these fields together cannot tell it from no difference.
overall-leaves-zero-out = The interval leaves zero out: a treatment that does nothing on average would rarely look like this.
overall-fields-differ = Its effect differs from field to field, with a standard deviation of about { $tau } { $unit }: the mean is not what every field gets.
overall-two-fields = Two fields cannot tell whether its effect differs from field to field.
overall-fields-alike = The fields do not clearly differ from one another beyond their own noise.
overall-further = In one further field like these its own effect would lie between { $low } and { $high } { $unit }, 19 times in 20.
overall-no-further = What one further field would bring cannot be said from two.
overall-costed-differently = The fields were costed differently, so whether it pays is not said in one figure.
overall-no-money = No price and cost were given for it, so whether it pays is not said.
overall-break-even = The break-even gain is { $gain }.
overall-worth = The break-even gain is { $gain }: the odds that the average gain pays for it are { $odds }.
overall-worth-further = The break-even gain is { $gain }: the odds that the average gain pays for it are { $odds }, and that it pays in one further field { $next }.
overall-nothing-said = Nothing is said of { $treatment } over fields: { $reason }.
overall-scatter = Of the scatter among the fields' results about { $between } % is put down to fields truly responding differently and { $within } % to the noise within each field. The true effects are estimated to spread about their mean with a standard deviation of { $tau } { $unit }; up to { $most } { $unit } cannot be ruled out.
overall-no-scatter = The fields' results scatter no more than the noise within each field explains, so no spread of the true effects is estimated. Up to { $most } { $unit } (standard deviation) cannot be ruled out.
overall-rough = With { $fields } these figures are rough.

## Tables of the pooled report

column-field = Field
column-standard-error = Standard error
column-weight = Weight
column-without = All without it
column-measure = Measure
column-estimate = Estimate
column-of = Of
column-why = Why
column-path = Path
column-interval-unit = 95 % interval, { $unit }
fields-all = all together
fields-random-effects = random effects
fields-without = { $size } ({ $interval })
fields-table = How far the fields differ
fields-tau = standard deviation between fields (τ), { $unit }
fields-i2 = share of the scatter that is between fields (I²), %
fields-h2 = all scatter over noise alone (H²)
fields-q = Q, { $df } degrees of freedom
fields-p = p of such a Q if all fields had one effect
fields-intervals = Intervals
fields-headline = mean of all fields: Hartung and Knapp, never below the fields' own noise (the headline)
fields-next = one further field: Higgins, Thompson and Spiegelhalter
fields-knapp = mean, Hartung and Knapp as it is (ratio { $ratio })
fields-wald = mean, all variances taken as known (Wald)
fields-left-out = What did not enter
fields-left-out-whole = all of it

## The forest plot

forest-title = What each field found, and all together
forest-about = { $crop } at { $moisture } % moisture · treatment less check, { $unit }
forest-lighter = { $hidden } lighter fields entered and are not drawn
forest-left-out = Left out: { $fields }
forest-column-difference = difference (95 % interval)
forest-column-weight = weight
forest-both = Both fields together
forest-all = All { $fields } together
forest-further = One further field
forest-axis = treatment yields less  ←   { $unit }   →  treatment yields more
forest-key-field = one field, larger where it weighs more
forest-key-mean = mean of all
forest-key-further = one further field
forest-key-break-even = break-even
forest-says = Forest plot. { $said }.
forest-says-treatment = { $treatment }, { $unit }: { $fields }; all together { $mean }

## Why something did not enter

left-out-other-crop = is of { $crop }, not of { $wanted }
left-out-same-trial = rests on the same log and strips as { $file }: counted once
left-out-no-estimate = it has no difference
left-out-no-standard-error-one-block = one block only: a difference, but nothing that tells how sure it is
left-out-no-standard-error-none = its difference has no standard error
left-out-no-standard-error-no-weight = its standard error is 0 or beyond belief, so it cannot be weighed
not-pooled-none =
    { $fields ->
        [one] no standard error in any of { $fields } field, so none can be weighed
       *[other] no standard error in any of { $fields } fields, so none can be weighed
    }
not-pooled-one = one field has it, and pooling takes two
not-pooled-few =
    { $fields ->
        [one] { $weighed } of { $fields } field can be weighed, and pooling takes two
       *[other] { $weighed } of { $fields } fields can be weighed, and pooling takes two
    }

## Warnings of a pooled answer

warning-other-crop = { $file } was left out: it { $reason }.
warning-same-trial = { $file } was left out: it { $reason }.
warning-no-estimate = { $treatment }, { $field }: left out, { $reason }.
warning-no-standard-error = { $treatment }, { $field }: left out, { $reason }.
warning-two-fields = { $treatment }: two fields can hardly tell how much fields differ. The interval is honest and very wide; what a further field will do is not said. Add fields or years.
warning-few-degrees-of-freedom = { $treatment }: the standard error rests on fewer than { $least } degrees of freedom, that is on few blocks, in { $fields }. Pooling takes it as known, so weights and intervals are surer than they should be.
fields-every-one = all fields
warning-checks-differ = { $treatment } is compared with checks called { $checks }. Pooling makes sense only if they were treated alike.
warning-methods-differ = { $treatment }: the fields' headline methods differ ({ $methods }). Methods that allow for straddling headers and methods that do not answer slightly different questions.
warning-straddling-headers-pooled = { $treatment }: headers reached across strip edges in { $fields }. Differences carry only part of the true contrast there, and so does the pooled one.
warning-break-evens-differ = { $treatment }: the fields were costed at different break-even gains, so no common line is drawn and no odds are given. Compare again with one price and cost to get them.
warning-rests-on-one-field = { $treatment }: without "{ $field }" the interval would hold zero. The answer hangs on that field.
warning-not-pooled = { $treatment } was not pooled: { $reason }.
warning-moistures-differ = The results are stated at different market moistures: all were restated at { $moisture } %, dry matter unchanged.
warning-bushels-differ = The results weigh a bushel differently: all bushels here are of { $bushel_kg } kg. Figures in kg/ha are not touched by it.
warning-same-log = { $fields } rest on a common harvest log with different strips. If it is one trial drawn twice, give only one of them: it would count double.
# Names in a row: each by itself, and the last two.
listed-one = "{ $name }"
listed-two = "{ $first }" and "{ $last }"
