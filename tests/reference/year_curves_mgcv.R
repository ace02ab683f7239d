# Makes year_curves_mgcv.json: the year curves of the night-migrant counts as fitted by R's mgcv.
# Usage: Rscript year_curves_mgcv.R records.csv visits.csv year_curves_mgcv.json
suppressMessages({library(mgcv); library(jsonlite)})
args <- commandArgs(TRUE)
rec <- read.csv(args[1], stringsAsFactors = FALSE)
vis <- unique(read.csv(args[2], stringsAsFactors = FALSE))
tidy <- function(x) trimws(x)
genus <- tolower(tidy(rec$Genus)); substr(genus, 1, 1) <- toupper(substr(genus, 1, 1))
rec$sp <- paste(genus, tolower(tidy(rec$Species)))
out <- list()
for (site in c("CHI", "MP")) {
  v <- vis[vis$Locality == site, ]
  v$doy <- as.integer(format(as.Date(v$Date), "%j"))
  v$year <- factor(substr(v$Date, 1, 4))
  r <- rec[tidy(rec$Locality) == site, ]
  n <- table(r$sp)
  for (sp in names(n)[n >= 50]) {
    v$y <- as.integer(table(factor(r$Date[r$sp == sp], levels = v$Date)))
    m <- gam(y ~ s(doy, bs = "cc", k = 20) + s(year, bs = "re"), data = v, family = nb(),
             method = "REML", knots = list(doy = c(0.5, 366.5)))
    days <- data.frame(doy = 1:366, year = v$year[1])
    eta <- predict(m, days, exclude = "s(year)", se.fit = TRUE)
    out[[length(out) + 1]] <- list(site = site, species = sp, birds = sum(v$y),
      theta = m$family$getTheta(TRUE), reml = unname(m$gcv.ubre[1]),
      sp = unname(m$sp), edf = unname(sapply(m$smooth, function(s) sum(m$edf[s$first.para:s$last.para]))),
      log_mean = as.numeric(eta$fit), se = as.numeric(eta$se.fit))
    cat(site, sp, sum(v$y), m$family$getTheta(TRUE), "\n")
  }
}
writeLines(toJSON(out, digits = 8, auto_unbox = TRUE), args[3])
