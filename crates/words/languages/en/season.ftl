## The report of a season

season-title = { $season }: { $fields }
season-question = what paid?
season-about = { $with } with results, { $without } without
season-about-all = every field has results
season-none = No field has results yet.
season-of-crop = { $crop }: { $said }
season-not-pooled = { $crop }: { $reason }.
season-fields = Fields
season-fields-note = Each field’s own report lies in its folder. How fields are pooled is told in the reports under pooled.
season-without = Without results
season-not-done = has not been done yet
season-table-together = All fields together
season-table-fields = Every field, its headline comparison
season-table-without = Fields without results
season-map-title = { $treatment }: where the fields lie
season-map-says = Each field is marked by what its strips say of { $treatment }; the table of fields lists them all.
season-footer = Written by { $tool } { $version }, schema { $schema }. Every figure stands in season.json and in the fields’ own results.json.
column-crop = Crop
column-fields = Fields
column-mean-difference = Mean difference, { $unit }
column-odds-mean = Odds that the mean pays
column-odds-further = Odds in one further field
column-warnings = Warnings
column-folder = Folder
warning-fields-without-results =
    { $count ->
        [one] { $count } field without results is listed below with the reason; nothing is known of it.
       *[other] { $count } fields without results are listed below with the reason; nothing is known of them.
    }

## The map of the fields

map-fields = Fields of the season
map-fields-about = { $season } · { $treatment }
map-fields-heading = Yield of the treatment, fields
map-fields-more = more than the check
map-fields-unclear = cannot be told from none
map-fields-less = less than the check
map-fields-unknown = no interval
map-fields-note = Beside each mark: field and difference, { $unit }. More and less: the 95 % interval leaves zero out.
