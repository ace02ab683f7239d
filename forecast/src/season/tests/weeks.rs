//! How weeks scatter together, by a passage's own seasons and by those of its site.

use super::*;

#[test]
fn weeks_that_scatter_together_are_found_and_widen_the_intervals() {
    let site = |weeks| {
        let site = Site::new(6).usual(2000..2020, weeks);
        site.season(2020, 0.0, 1.0, 0.0, 131).series()
    };
    let told = |weeks| {
        let series = site(weeks);
        let long_term = learnt(&series, 2020, Against::Earlier);
        let times = long_term
            .course(&series, date(2020, 130))
            .standing
            .unwrap()
            .times;
        (long_term.weeks.sd(), (times.high / times.low).ln())
    };
    let (alone, narrow) = told(0.0);
    let (together, wide) = told(0.6);
    // 0.6 was put in; half of it either way is three standard errors of some 100 telling weeks
    assert!(
        alone < 0.2 && (0.3..0.9).contains(&together),
        "{alone} {together}"
    );
    assert!(wide > 1.2 * narrow, "{narrow} {wide}");
}

fn week_sds(passages: &[LongTerm]) -> Vec<f64> {
    passages.iter().map(|p| p.weeks.sd()).collect()
}

#[test]
fn passages_of_one_site_learn_from_each_other_how_weeks_scatter() {
    let learnt = |seed, weeks| {
        let series = Site::new(seed).usual(2000..2010, weeks).series();
        learnt(&series, 2010, Against::Earlier)
    };
    let mut alone = [learnt(11, 0.0)];
    let before = week_sds(&alone);
    LongTerm::side_by_side(alone.iter_mut());
    assert_eq!(before, week_sds(&alone));
    let mut site = [
        learnt(11, 0.0),
        learnt(12, 0.6),
        learnt(13, 0.6),
        learnt(14, 0.6),
    ];
    let apart = week_sds(&site);
    LongTerm::side_by_side(site.iter_mut());
    let together = week_sds(&site);
    assert!(together[0] > apart[0], "{apart:?} {together:?}");
    assert!(
        together[1..].iter().all(|sd| (0.3..0.9).contains(sd)),
        "{together:?}"
    );
}

#[test]
fn what_its_own_seasons_show_plainly_is_not_overruled_by_the_others() {
    let learnt = |seed, weeks| {
        let series = Site::new(seed).usual(2000..2020, weeks).series();
        learnt(&series, 2020, Against::Earlier)
    };
    let mut site: Vec<LongTerm> = (21..27).map(|seed| learnt(seed, 0.0)).collect();
    site.push(learnt(27, 0.8));
    LongTerm::side_by_side(site.iter_mut());
    let sds = week_sds(&site);
    assert!(sds[6] > 0.5, "{sds:?}");
    assert!(sds[..6].iter().all(|sd| *sd < 0.5 * sds[6]), "{sds:?}");
}

#[test]
fn a_flock_out_of_its_time_is_no_weather() {
    let with = |birds: Option<u32>| {
        let mut site = Site::new(31).usual(2000..2015, 0.0);
        if let Some(birds) = birds {
            site.counts[7 * 131 + 100] = Count::Exactly(birds);
        }
        let mut passages = vec![learnt(&site.series(), 2015, Against::Earlier)];
        let others = 32..37;
        passages.extend(others.map(|seed| {
            let series = Site::new(seed).usual(2000..2015, 0.0).series();
            learnt(&series, 2015, Against::Earlier)
        }));
        LongTerm::side_by_side(passages.iter_mut());
        week_sds(&passages)
    };
    let (steady, flock) = (with(None), with(Some(60)));
    for (steady, flock) in steady.iter().zip(&flock).skip(1) {
        assert!(flock - steady < 0.1, "{steady} {flock}");
    }
}
