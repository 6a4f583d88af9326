# Reference figures for the yield surface, made by gstat (Pebesma, E. J., 2004, Multivariable
# geostatistics in S: the gstat package, Computers & Geosciences 30, 683-691):
#
#   Rscript tests/oracles/surface_gstat.R fixtures/surface
#
# Reads samples.csv (invented) in that folder, writes lags.csv, fits.csv and blocks.csv beside it.
# The committed figures are of gstat 2.1-0 under R 4.2.2.
library(sp)
library(gstat)

folder <- commandArgs(trailingOnly = TRUE)[1]
path <- function(name) file.path(folder, name)
save <- function(table, name) {
  write.csv(format(table, digits = 15, trim = TRUE, scientific = FALSE), path(name), row.names = FALSE, quote = FALSE)
}
samples <- read.csv(path("samples.csv"))
coordinates(samples) <- ~ east_m + north_m

# Empirical semivariances after Cressie and Hawkins, ten lags of 10 m.
lags <- variogram(value ~ 1, samples, cutoff = 100, width = 10, cressie = TRUE)
save(data.frame(pairs = lags$np, distance_m = lags$dist, semivariance = lags$gamma), "lags.csv")

# Models fitted to them: by Cressie's (1985) criterion, minimised by R's optim from many starts, and by
# gstat's own fit.method 2, which takes the same weights from the model of the step before.
shape <- list(
  Sph = function(h, a) ifelse(h < a, 1.5 * h / a - 0.5 * (h / a)^3, 1),
  Exp = function(h, a) 1 - exp(-h / a)
)
criterion <- function(p, model) {
  gamma <- exp(p[1]) + exp(p[2]) * shape[[model]](lags$dist, exp(p[3]))
  sum(lags$np * (lags$gamma / gamma - 1)^2)
}
fits <- do.call(rbind, lapply(names(shape), function(model) {
  tries <- list()
  for (nugget in c(2, 10, 40)) for (sill in c(20, 60, 150)) for (range in c(8, 25, 60)) {
    fit <- optim(log(c(nugget, sill, range)), criterion, model = model,
                 control = list(maxit = 20000, reltol = 1e-15))
    tries[[length(tries) + 1]] <- optim(fit$par, criterion, model = model,
                                        control = list(maxit = 20000, reltol = 1e-15))
  }
  best <- tries[[which.min(sapply(tries, function(t) t$value))]]
  own <- fit.variogram(lags, vgm(50, model, 25, 10), fit.method = 2)
  data.frame(model = model, nugget = exp(best$par[1]), partial_sill = exp(best$par[2]),
             range_m = exp(best$par[3]), criterion = best$value, gstat_nugget = own$psill[1],
             gstat_partial_sill = own$psill[2], gstat_range_m = own$range[2])
}))
save(fits, "fits.csv")

# Ordinary block kriging over blocks of 5 m, each 4 x 4 points, from the 16 nearest samples within
# 30 m, and inverse distance squared from the same; with models given, not fitted.
centres <- read.csv(path("centres.csv"))
coordinates(centres) <- ~ east_m + north_m
steps <- (c(1, 2, 3, 4) - 2.5) / 4 * 5
block <- expand.grid(x = steps, y = steps)
spherical <- vgm(60, "Sph", 40, 15)
exponential <- vgm(60, "Exp", 15, 15)
kriged <- function(model) krige(value ~ 1, samples, centres, model, nmax = 16, maxdist = 30,
                                block = block, debug.level = 0)
by_spherical <- kriged(spherical)
by_exponential <- kriged(exponential)
by_distance <- idw(value ~ 1, samples, centres, nmax = 16, maxdist = 30, idp = 2, debug.level = 0)
save(data.frame(
  east_m = coordinates(centres)[, 1], north_m = coordinates(centres)[, 2],
  spherical = by_spherical$var1.pred, spherical_variance = by_spherical$var1.var,
  exponential = by_exponential$var1.pred, exponential_variance = by_exponential$var1.var,
  inverse_distance = by_distance$var1.pred
), "blocks.csv")
