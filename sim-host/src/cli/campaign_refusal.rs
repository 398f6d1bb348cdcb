//! What went wrong with a campaign or a search, as a command says it, with whose fault that is.

use super::output::Refusal;
use crate::campaign::CampaignError;

/// What could not be done, and whose fault that is.
pub fn refusal(wrong: CampaignError) -> Refusal {
    let words = wrong.to_string();
    match wrong {
        CampaignError::Scenario(list) => Refusal::file(list),
        CampaignError::Healthy(..) => Refusal::misuse(words),
        CampaignError::Folder(_, help) => Refusal::misuse(words).with_help(help),
        CampaignError::File(..) => {
            Refusal::unfinished(words).with_help("what was finished is kept; give the same command again")
        }
        CampaignError::Run(..) | CampaignError::Table(_) => Refusal::ours(words),
    }
}
