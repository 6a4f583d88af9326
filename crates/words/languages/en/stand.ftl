## Plants counted

stand-intro =
    { $count ->
        [one] { $shown } count stood for a strip; each strip’s stand is the mean of its counts.
       *[other] { $shown } counts stood for a strip; each strip’s stand is the mean of its counts.
    }
stand-left-out = Left out: { $reasons }. results.json names the rows.
stand-what-counts = The strip is what was laid out: more counts in it make its mean surer, but they are no further strips. Where plants were counted belongs to chance, not to the eye.
stand-outside = { $shown } in no strip
stand-edge = { $shown } at a strip’s edge
stand-unknown-strip = { $shown } of a strip that there is not
stand-no-place = { $shown } without position and strip
stand-no-count = { $shown } without a number of plants
stand-no-row = { $shown } without length or spacing of the rows
stand-answer =
    { $outcome ->
        [more] Stand: { $treatment } strips had { $size } { $unit } more than the { $check } strips beside them ({ $basis }).
        [fewer] Stand: { $treatment } strips had { $size } { $unit } fewer than the { $check } strips beside them ({ $basis }).
       *[same] Stand: { $treatment } strips had as many plants as the { $check } strips beside them ({ $basis }).
    }
stand-plot = Difference of the stand in each block: { $comparison }
stand-plot-caption = Right of the solid line { $treatment } had more plants.
stand-table = Plants counted, strip by strip
stand-column-stand = Stand, { $unit }
stand-column-sd = SD of counts, { $unit }
stand-column-counts = Counts
stand-column-emergence = Emergence
stand-table-comparisons = Stands compared, the headline first
