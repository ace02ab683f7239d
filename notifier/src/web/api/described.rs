//! The description of the interface, made from the types that stand for its documents.

use super::super::Addresses;
use super::schema::{Curve, Plan, Problem, Set, Site, Week, Window};
use serde_json::{Value, json};
use utoipa::OpenApi;

/// What can be asked for.
#[derive(OpenApi)]
#[openapi(
    info(
        title = "Wingtide",
        description = "What to expect at the sites of a workspace, week by week. A forecast never \
            identifies a bird. What its keeper withholds is not there.",
        license(name = "MIT OR Apache-2.0", identifier = "MIT OR Apache-2.0")
    ),
    paths(sites, week, windows, curve, sets, plans, openapi)
)]
struct Described;

/// The OpenAPI document of a service.
pub fn document(addresses: &Addresses) -> Value {
    let mut document = serde_json::to_value(Described::openapi()).unwrap_or(Value::Null);
    if let Addresses::Service(below) = addresses {
        let root = if below.is_empty() { "/" } else { below };
        document["servers"] = json!([{ "url": root }]);
    }
    document
}

/// All sites.
#[utoipa::path(
    get,
    path = "/api/v1/sites",
    responses((status = 200, description = "The sites", body = Vec<Site>))
)]
#[expect(dead_code, reason = "stands for an address in the description")]
fn sites() {}

/// A week's guidance at a site: what `wingtide week --json` gives.
#[utoipa::path(
    get,
    path = "/api/v1/sites/{site}/week",
    params(
        ("site" = String, Path, description = "Id of the site"),
        ("week" = Option<String>, Query, description = "ISO week, this one where left out",
            pattern = "^[0-9]{4}-W[0-9]{2}$", example = "2026-W37"),
    ),
    responses(
        (status = 200, description = "The week", body = Week),
        (status = 400, description = "No such week", body = Problem, content_type = "application/problem+json"),
        (status = 404, description = "No such site, or a week too far away", body = Problem, content_type = "application/problem+json"),
    )
)]
#[expect(dead_code, reason = "stands for an address in the description")]
fn week() {}

/// The passages of all species at a site: what `wingtide windows --json` gives.
#[utoipa::path(
    get,
    path = "/api/v1/sites/{site}/windows",
    params(("site" = String, Path, description = "Id of the site")),
    responses(
        (status = 200, description = "The passages", body = Vec<Window>),
        (status = 404, description = "No such site", body = Problem, content_type = "application/problem+json"),
    )
)]
#[expect(dead_code, reason = "stands for an address in the description")]
fn windows() {}

/// The year curve of a species at a site: what `wingtide curve --json` gives.
#[utoipa::path(
    get,
    path = "/api/v1/sites/{site}/curves/{species}",
    params(
        ("site" = String, Path, description = "Id of the site"),
        ("species" = String, Path, description = "Scientific name in lower case, joined by a hyphen",
            example = "calidris-minuta"),
    ),
    responses(
        (status = 200, description = "The curve", body = Curve),
        (status = 404, description = "No such site, or no curve of such a species", body = Problem, content_type = "application/problem+json"),
    )
)]
#[expect(dead_code, reason = "stands for an address in the description")]
fn curve() {}

/// The look-alike sets of a site.
#[utoipa::path(
    get,
    path = "/api/v1/sites/{site}/sets",
    params(("site" = String, Path, description = "Id of the site")),
    responses(
        (status = 200, description = "The sets", body = Vec<Set>),
        (status = 404, description = "No such site", body = Problem, content_type = "application/problem+json"),
    )
)]
#[expect(dead_code, reason = "stands for an address in the description")]
fn sets() {}

/// The kept plans with a visit to a site, as far as everybody may know of them: what `wingtide plan
/// --json` gave when each was kept.
#[utoipa::path(
    get,
    path = "/api/v1/sites/{site}/plans",
    params(("site" = String, Path, description = "Id of the site")),
    responses(
        (status = 200, description = "The plans, none where none is kept", body = Vec<Plan>),
        (status = 404, description = "No such site", body = Problem, content_type = "application/problem+json"),
        (status = 503, description = "The kept plan cannot be read", body = Problem, content_type = "application/problem+json"),
    )
)]
#[expect(dead_code, reason = "stands for an address in the description")]
fn plans() {}

/// This description.
#[utoipa::path(
    get,
    path = "/api/v1/openapi.json",
    responses((status = 200, description = "An OpenAPI 3.1 document", body = Object))
)]
#[expect(dead_code, reason = "stands for an address in the description")]
fn openapi() {}
