## What would turn the money's answer

money-turn-heading = What would turn it: { $treatment }
money-even = With the difference found, it just pays for itself at { $price }, or at a cost of { $cost }.
money-even-odds = With the difference found, it just pays for itself at { $price }, or at a cost of { $cost }; there the odds are even.
money-even-saving = It saves { $saving } and loses grain: it just pays for itself at { $price }, and not above.
money-even-saving-odds = It saves { $saving } and loses grain: it just pays for itself at { $price }, and not above; there the odds are even.
money-no-price = With the difference found, no price makes it pay: it would have to save { $saving }.
money-no-difference = With no difference in yield, no price makes it pay.
money-any-price = It costs no more than the check and, with the difference found, loses no grain: it pays at any price.
money-sure = Even the lower end of the 95 % interval pays from { $price } on, or up to a cost of { $cost }.
money-never-sure = The lower end of the 95 % interval pays at no price.
money-prices-same = From { $low } to { $high } the odds that it paid stay { $odds }.
money-prices = At { $low } the odds that it paid are { $low_odds }, at { $high } { $high_odds }.
money-grid = Odds that { $treatment } paid, by cost and price
money-grid-own = { $cost } (as given)
money-amounts = Odds that { $treatment } left at least so much
money-amounts-left = Left per { $unit }
money-amounts-gain = Gain it takes
money-amounts-odds = Odds
