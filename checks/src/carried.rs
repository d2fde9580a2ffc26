//! The current that a conductor is held against its rating with: its RMS value, ripple included.

use loadworthy_unit::FigureId;
use loadworthy_unit::plan::Conductor;

use crate::remarks::Remark;
use crate::verdict::{Comparison, Outcome};

/// Judges a conductor by what it carries. Where its ripple is not known, it fails if its direct current is too much by itself.
pub(crate) fn judged(
    conductor: &Conductor,
    judge: impl Fn(FigureId) -> (Outcome, Vec<Remark>),
) -> (Outcome, Vec<Remark>) {
    let all = judge(conductor.carried());
    if let (Outcome::NotJudged(_), _) = all
        && let (fails @ Outcome::Fails { .. }, mut remarks) = judge(conductor.current)
    {
        remarks.push(Remark::AtLeast);
        return (fails, remarks);
    }
    all
}

/// What tells that the ripple is counted in what is compared, after a current.
pub(crate) fn rms(conductor: &Conductor, compared: &Comparison) -> &'static str {
    if conductor.rms == Some(compared.carried) { " rms with its ripple" } else { "" }
}
