//! Which code answers for which part of the check book.

use super::topic::{NOTHING, Topic};
use super::{
    basis, calendar, circular, cron_times, curves, degree_days, detection, distribution,
    elastic_net, endpoints, glm, mails, overlap, pages, planning, scores, standards, sun,
    temperature, updating, windows,
};

const CURVE_KEYS: &[&str] = &[
    "grid_eta_abs",
    "edf_abs",
    "sp_rel",
    "theta_rel",
    "reml_abs",
    "se_rel",
    "local_maxima_doy",
];

/// Fields of topics 05 and 15 by the quantity that they follow from.
const CURVE_FIELDS: &[(&str, &str)] = &[
    ("edf*", "edf_abs"),
    ("grid_eta*", "grid_eta_abs"),
    ("intercept_centred", "grid_eta_abs"),
    ("knot_values_eta", "grid_eta_abs"),
    ("coef_uncentred_python_order", "grid_eta_abs"),
    ("year_effects", "grid_eta_abs"),
    ("grid_se*", "se_rel"),
    ("deviance", "deviance_rel"),
    ("scale", "deviance_rel"),
    ("loglik_python", "loglik_rel"),
    ("local_maxima_rate", "local_maxima_rate_rel"),
    ("global_min_doy", "local_maxima_doy"),
    ("theta_at_infinity", "exact"),
    ("grid_phase", "exact"),
];

/// Another optimiser's end point, and standard errors with the smoothing's own uncertainty.
const CURVE_INFORMATION: &[&str] = &[
    "independent_optimum",
    "python_optimum",
    "grid_se_unconditional",
];

/// The whole check book.
pub const TOPICS: &[Topic] = &[
    Topic {
        number: "01",
        wired: &[
            ("iso_week", calendar::iso_week),
            ("iso_years_with_53_weeks_1900_2100", calendar::long_years),
            ("leap", calendar::leap),
            ("doy_first_of_month", calendar::first_of_month),
            ("circ_mean", calendar::circular_mean),
        ],
        // the mistake that the circular mean avoids
        information: &["naive_arithmetic_mean"],
        ..NOTHING
    },
    Topic {
        number: "02",
        wired: &[("dd", degree_days::degree_days)],
        keys: &["dates"],
        governs: &[("first_date*", "dates")],
        ..NOTHING
    },
    Topic {
        number: "03",
        wired: &[("sun", sun::events), ("daylength", sun::day_length)],
        keys: &["seconds"],
        governs: &[
            ("sunrise*", "seconds"),
            ("sunset*", "seconds"),
            ("solar_noon_utc", "seconds"),
            ("event", "exact"),
        ],
        // a day is as long as its two ends are good; the book's declination and equation of time
        // are of another formula, which keeps to about a hundredth of a degree and 2 s
        ours: &[
            ("day_length_min_abs", 4.0),
            ("declination_deg_abs", 0.02),
            ("equation_of_time_min_abs", 0.05),
        ],
        // what other programs say
        information: &[
            "noaa_sunrise_utc",
            "noaa_sunset_utc",
            "noaa_minus_skyfield_s",
            "ephem_minus_skyfield_s",
            "astral",
            "astral_local",
            "astral_minus_skyfield_s",
        ],
        ..NOTHING
    },
    Topic {
        number: "04",
        wired: &[("glm", glm::regression), ("nb", distribution::points)],
        keys: &[
            "loglik_abs",
            "theta_rel",
            "se_rel",
            "quantiles",
            "p0_abs",
            "coef_abs",
            "cdf_abs",
            "pmf_rel",
        ],
        governs: &[
            ("coef:*", "coef_abs"),
            ("se:*", "se_rel"),
            ("aic", "loglik_abs"),
            ("deviance", "deviance_rel"),
            ("null_deviance", "deviance_rel"),
            ("df_residual", "exact"),
            // a relative error of the probability is an absolute one of its logarithm
            ("logpmf", "logpmf_abs"),
            ("q*", "quantiles"),
            ("mu", "exact"),
            ("y", "exact"),
        ],
        // theta that is given comes back as it was; deviances follow theta
        ours: &[
            ("deviance_rel", 1e-5),
            ("logpmf_abs", 1e-10),
            ("theta_rel", 0.0),
        ],
        ..NOTHING
    },
    Topic {
        number: "05",
        wired: &[("spline", curves::check)],
        keys: CURVE_KEYS,
        governs: CURVE_FIELDS,
        // these follow theta and the curve
        ours: &[("deviance_rel", 1e-5), ("loglik_rel", 1e-6)],
        information: CURVE_INFORMATION,
        ..NOTHING
    },
    Topic {
        number: "05b",
        wired: &[("windows", windows::windows)],
        keys: &["doy", "rate_rel", "sim_quantiles_days", "ratio_rel"],
        governs: &[
            ("peak_doy_sim_quantiles*", "sim_quantiles_days"),
            ("ratio_sim_quantiles*", "ratio_rel"),
            ("peak_rate", "rate_rel"),
            ("trough_rate", "rate_rel"),
            ("peak_to_trough", "rate_rel"),
            ("peak_doy", "doy"),
            ("trough_doy", "doy"),
            ("first_doy*", "doy"),
            ("last_doy*", "doy"),
            ("passage_quantile*", "doy"),
            ("flat", "exact"),
        ],
        information: &["expected_behaviour"],
        ..NOTHING
    },
    Topic {
        number: "05c",
        wired: &[("basis", basis::basis), ("gauss_toy", basis::toy)],
        keys: &["X_abs", "S_rel"],
        governs: &[("S_eigenvalues", "S_rel")],
        by_largest: &["S", "S_eigenvalues"],
        ..NOTHING
    },
    Topic {
        number: "06",
        wired: &[("ovl", overlap::overlap)],
        keys: &["Dhat1_between_grids"],
        ..NOTHING
    },
    Topic {
        number: "07",
        wired: &[
            ("crps", scores::ranked_by_kind),
            ("brier", scores::chances),
            ("pinball", scores::pinball),
            ("rps", scores::ranked_classes),
            ("pit", scores::pit),
            ("interval_score", scores::interval_score),
            ("diebold_mariano_h1", scores::equal_accuracy),
        ],
        ..NOTHING
    },
    Topic {
        number: "08",
        wired: &[("ole", endpoints::optimal), ("solow1993", endpoints::solow)],
        ..NOTHING
    },
    Topic {
        number: "09",
        wired: &[
            ("iceoff_temp", temperature::regression),
            ("iceoff_trend", temperature::trend),
            ("iceoff_window_search", temperature::window_search),
            ("iceoff_thaw_degree_days", temperature::thaw),
        ],
        ..NOTHING
    },
    Topic {
        number: "10",
        wired: &[
            ("elasticnet", elastic_net::elastic_net),
            ("ridge", elastic_net::ridge),
            ("lasso", elastic_net::lasso),
        ],
        keys: &["objective_rel"],
        ..NOTHING
    },
    Topic {
        number: "11",
        wired: &[
            ("dwc", standards::terms),
            ("dwca", standards::archives),
            ("mail", mails::format),
            ("http", pages::http),
            ("atom", pages::atom),
            ("icalendar", pages::icalendar),
        ],
        not_yet_wired: &["frictionless"],
        // with which answers the field comes: what is done with each is tested where posts are
        information: &["used_with"],
        ..NOTHING
    },
    Topic {
        number: "12",
        wired: &[("cron", cron_times::times)],
        // the wall time that was asked for, and what became of it
        information: &["local", "kind"],
        ..NOTHING
    },
    Topic {
        number: "13",
        wired: &[
            ("detect", detection::visits),
            ("zero_detections_upper", detection::none_found),
            ("binomial_ci", detection::parts),
            ("poisson_ci", detection::counts),
        ],
        ..NOTHING
    },
    Topic {
        number: "14",
        wired: &[("circular", circular::circular)],
        keys: &["p_rel"],
        governs: &[("rayleigh_p*", "p_rel")],
        ..NOTHING
    },
    Topic {
        number: "15",
        wired: &[("nb_cc", curves::check)],
        keys: CURVE_KEYS,
        governs: CURVE_FIELDS,
        // as wide as theta's and lambda's own, which they follow
        ours: &[
            ("deviance_rel", 1e-3),
            ("se_rel", 1e-3),
            ("local_maxima_rate_rel", 2e-4),
        ],
        information: CURVE_INFORMATION,
        ..NOTHING
    },
    Topic {
        number: "16",
        wired: &[
            ("gamma_poisson", updating::gamma_poisson),
            ("normal_shift", updating::normal_shift),
            ("shift_grid_posterior", updating::shift_grid),
            ("plan", planning::best),
        ],
        ..NOTHING
    },
];
