//! The balance for a spreadsheet: a line for each flow, numbers unrounded in W, V, A.

use loadworthy_checks::corner;
use loadworthy_unit::LaneState;

use crate::show::csv::quoted;

use super::account::Account;
use super::coolant::passed;

const HEAD: &str = "variant,duty_point,corner,state,kind,part,voltage,current,power_in,power_out,loss,loss_inside,\
                    efficiency,flow,flow_share,coolant_in,coolant_out,pressure_drop\n";

/// Every flow of every account.
pub(crate) fn table(accounts: &[Account<'_, '_>]) -> String {
    let mut text = HEAD.to_owned();
    for account in accounts {
        if !matches!(account.state(), LaneState::Solved { .. }) {
            text.push_str(&line(account, "", "", [None; 12]));
        }
        for flow in &account.lines {
            let numbers =
                [flow.voltage, flow.current, flow.into, flow.out, flow.loss, flow.inside, flow.efficiency];
            text.push_str(&line(account, flow.kind.word(), flow.part, padded(0, numbers)));
        }
        for one in if account.lines.is_empty() { Vec::new() } else { passed(account) } {
            let mut numbers = padded(7, [one.flow, one.share, one.coolant_in, one.coolant_out, one.drop]);
            // Heat is what the parts on the element lose.
            numbers[4] = one.heat;
            text.push_str(&line(account, one.what.word(), one.part, numbers));
        }
    }
    text
}

/// Numbers from a column on.
fn padded<const N: usize>(first: usize, numbers: [Option<f64>; N]) -> [Option<f64>; 12] {
    let mut all = [None; 12];
    for (to, number) in all[first..].iter_mut().zip(numbers) {
        *to = number;
    }
    all
}

fn line(account: &Account<'_, '_>, kind: &str, part: &str, numbers: [Option<f64>; 12]) -> String {
    let variant = account.solved.variant;
    let state = match account.state() {
        LaneState::Solved { .. } => "solved",
        LaneState::NoSolution { .. } => "no solution",
        LaneState::Undecided { .. } => "undecided",
    };
    let texts = [
        variant.name.clone().unwrap_or_default(),
        variant.duty_of(account.lane).name.clone(),
        corner::short(variant.lane(account.lane)).unwrap_or_default(),
        state.to_owned(),
        kind.to_owned(),
        part.to_owned(),
    ];
    let numbers =
        numbers.into_iter().map(|number| number.map(|number| number.to_string()).unwrap_or_default());
    texts.iter().map(|text| quoted(text)).chain(numbers).collect::<Vec<_>>().join(",") + "\n"
}
