### The words of checkstrip in English, in Project Fluent's form (projectfluent.org). A text is `id = words`; values
### stand in braces; where the words depend on a value, each way of saying it has a row of its own, the one with a
### star for all other cases. How to make a file of your own is in docs/languages.md.

## The language and its figures

# What the page says its language is; plurals follow it.
language-tag = en
# Between whole and decimals, and between groups of three digits.
decimal-mark = { "." }
group-mark = { "," }

percent = { $share } %
# A share below the least that is shown.
percent-small = < { $share } %
percent-large = > { $share } %
p-small = < { $p }
p-equals = p = { $p }
p-below = p < { $p }
range = { $low } to { $high }
range-with-unit = { $low } to { $high } { $unit }
difference-name = { $treatment } less { $check }
joined-and = { $first } and { $second }

## Money

money = ${ $amount }
money-negative = −${ $amount }
price-per-bushel = { $money } a bushel
price-per-tonne = { $money } a tonne
money-per-acre = { $money } an acre
money-per-hectare = { $money } a hectare
unit-plants-acre = plants/ac
unit-plants-hectare = plants/ha

## Odds, as a person would say them

odds-99-in-100 = better than 99 in 100
odds-19-in-20 = better than 19 in 20
odds-1-in-100 = less than 1 in 100
odds-1-in-20 = less than 1 in 20
odds-in-10 = about { $times } in 10

## Counts

count-blocks =
    { $count ->
        [one] { $shown } block
       *[other] { $shown } blocks
    }
count-passes =
    { $count ->
        [one] { $shown } pass
       *[other] { $shown } passes
    }
count-machines =
    { $count ->
        [one] { $shown } machine
       *[other] { $shown } machines
    }
count-strips =
    { $count ->
        [one] { $shown } strip
       *[other] { $shown } strips
    }
count-stand-counts =
    { $count ->
        [one] { $shown } stand count
       *[other] { $shown } stand counts
    }
count-windows =
    { $count ->
        [one] { $shown } window
       *[other] { $shown } windows
    }
count-fields =
    { $count ->
        [one] { $shown } field
       *[other] { $shown } fields
    }

## Crops that are known by name; the name of any other is shown as given

crop-soybean = soybean
crop-corn = corn
crop-wheat = wheat
crop-barley = barley
crop-oats = oats
crop-rye = rye
crop-sorghum = sorghum
crop-canola = canola
crop-sunflower = sunflower
crop-dry-bean = dry bean
