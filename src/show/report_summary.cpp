// The answer in ten seconds: can I build this, and what comes first?
#include <algorithm>

#include <fmt/format.h>

#include "show/finding_text.h"
#include "show/report_escape.h"
#include "show/report_sections.h"

namespace loomproof::report {
namespace {

std::string counted(std::size_t n, std::string_view one, std::string_view many) {
  return fmt::format("{} {}", n, n == 1 ? one : many);
}

struct Answer {
  std::string_view look;
  std::string headline, why;
};

Answer answer_of(const Story& story) {
  const Judgement& judgement = story.judgement;
  const std::size_t broken = judgement.count(Verdict::broken), open = judgement.count(Verdict::undecided);
  const auto dangers =
      static_cast<std::size_t>(std::count_if(story.findings.begin(), story.findings.end(), [](const Obligation* o) {
        return o->verdict == Verdict::broken && o->weight() == Severity::danger;
      }));
  if (dangers > 0) {
    return {"broken", fmt::format("No. {} first.", counted(dangers, "danger must go", "dangers must go")),
            "A danger can mean fire, electric shock or a vehicle that does not stop."};
  }
  if (broken > 0) {
    return {"broken", fmt::format("No. {} first.", counted(broken, "thing must be mended", "things must be mended")),
            "None of them is a danger by itself, but parts would suffer or not work."};
  }
  if (open > 0) {
    return {"undecided", fmt::format("Not yet. {} still open.", counted(open, "question is", "questions are")),
            "Nothing is known to be wrong, but a missing fact can hide a danger."};
  }
  if (judgement.waived() > 0) {
    return {"holds",
            fmt::format("Yes as described, except for {}.",
                        counted(judgement.waived(), "finding that you set aside", "findings that you set aside")),
            "All else holds. Read what was set aside below, with the reason that was given."};
  }
  return {"holds", fmt::format("Yes, as described. All {} checks hold.", judgement.count(Verdict::holds)),
          "Build exactly what the file says: a vehicle that differs from it was not checked."};
}

// What findings of one cause have in common: the rule and what they name beside their own subject.
std::string cause_of(const Obligation& owed) {
  std::string cause(slug_of(owed));
  const std::string says = sentence_of(owed);
  for (std::size_t open = says.find('\''); open != std::string::npos;) {
    const std::size_t close = says.find('\'', open + 1);
    if (close == std::string::npos) break;
    const std::string name = says.substr(open + 1, close - open - 1);
    if (name != owed.subject.name) cause += "\n" + name;
    open = says.find('\'', close + 1);
  }
  return cause;
}

struct Step {
  std::string cause;
  std::vector<std::size_t> findings;  // from 0
};

std::string also(const Story& story, const Step& step) {
  constexpr std::size_t most = 8;
  std::string links;
  for (std::size_t i = 1; i < std::min(step.findings.size(), most + 1); ++i) {
    const std::size_t f = step.findings[i];
    links += fmt::format("{}<a href=\"#f{}\">{}</a>", i == 1 ? "" : ", ", f + 1, html(story.findings[f]->subject.name));
  }
  if (step.findings.size() > most + 1) links += fmt::format(" and {} more", step.findings.size() - most - 1);
  // The fix above is that of the first: a fuse small enough for it may still be too large for the next.
  const bool one_fix = std::all_of(step.findings.begin(), step.findings.end(), [&](std::size_t f) {
    return story.findings[f]->mend == story.findings[step.findings.front()]->mend;
  });
  return fmt::format("<br>Likewise{}: {}.", one_fix ? "" : ", each with a fix of its own", links);
}

std::string first_steps(const Story& story) {
  std::vector<Step> steps;
  for (std::size_t f = 0; f < story.findings.size(); ++f) {
    const std::string cause = cause_of(*story.findings[f]);
    const auto known = std::find_if(steps.begin(), steps.end(), [&](const Step& s) { return s.cause == cause; });
    if (known == steps.end()) {
      steps.push_back({cause, {f}});
    } else {
      known->findings.push_back(f);
    }
  }
  if (steps.empty()) return {};
  constexpr std::size_t most = 3;
  std::string items;
  std::size_t told = 0;
  for (std::size_t i = 0; i < std::min(most, steps.size()); ++i) {
    const std::size_t f = steps[i].findings.front();
    const Obligation& owed = *story.findings[f];
    items += fmt::format("<li><a href=\"#f{}\">{}</a>{}{}</li>", f + 1, html(sentence_of(owed)),
                         owed.mend.empty() ? "" : fmt::format("<br>{}", html(owed.mend)),
                         steps[i].findings.size() > 1 ? also(story, steps[i]) : "");
    told += steps[i].findings.size();
  }
  const std::size_t rest = story.findings.size() - told;
  return fmt::format("<h3>What first?</h3><ol class=\"first\">{}</ol>{}", items,
                     rest > 0 ? fmt::format("<p>Then {} more, in the order below.</p>", rest) : "");
}

// What a builder whose loom holds should know next.
std::string tightest(const Story& story) {
  const std::vector<const Obligation*> closest = story.judgement.closest(1);
  if (!story.findings.empty() || closest.empty()) return {};
  const Obligation& owed = *closest.front();
  return fmt::format(
      "<h3>What first?</h3><p>Read the cautions and <a href=\"#closest\">the closest calls</a>. The closest of all "
      "is <code>{}</code> of {}: {} of {}.</p>",
      slug_of(owed), html(owed.subject.name), html(owed.figure->value), html(owed.figure->limit));
}

}  // namespace

std::string summary(const Story& story) {
  const Judgement& judgement = story.judgement;
  const Answer answer = answer_of(story);
  std::string out = fmt::format(
      "<div class=\"verdict {}\"><p class=\"ask\">Can I build this?</p><p class=\"answer\">{}</p><p>{}</p></div>",
      answer.look, answer.headline, answer.why);
  out += first_steps(story) + tightest(story);
  out += fmt::format(
      "<ul class=\"counts\"><li><b>{}</b>broken</li><li><b>{}</b>undecided</li><li><b>{}</b>hold</li><li><b>{}</b>set "
      "aside by you</li></ul>",
      judgement.count(Verdict::broken), judgement.count(Verdict::undecided), judgement.count(Verdict::holds),
      judgement.waived());
  const Coverage& c = judgement.coverage;
  if ((c.situations_covered < c.situations_possible && c.in_between.empty()) || !c.left_out.empty()) {
    out += fmt::format(
        "<p><b>Not every situation was computed</b>: {} of {}. See <a href=\"#basis\">what this rests on</a>.</p>",
        c.situations_covered, c.situations_possible);
  }
  return out;
}

}  // namespace loomproof::report
