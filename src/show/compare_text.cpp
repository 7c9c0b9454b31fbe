// A comparison for a person: what became worse first, then the work at the bench.
#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "show/compare.h"
#include "show/terminal_text.h"
#include "show/wash.h"

namespace loomproof {
namespace {

std::string_view work_of(const WireChange& wire) {
  switch (wire.work) {
    case WireChange::Work::cut:
      return wire.added ? "cut, new" : "cut again";
    case WireChange::Work::end:
      return "end again";
    case WireChange::Work::label:
      return "label again";
    case WireChange::Work::remove:
      return "take out";
  }
  return "";
}

std::string changes_text(const std::vector<Change>& changes, bool is_new) {
  std::string out;
  for (const Change& c : changes) {
    if (!out.empty()) out += "; ";
    if (is_new) {
      out += c.what + " " + c.after;
    } else if (c.after.empty()) {
      out += c.what + " was " + c.before;
    } else {
      out += fmt::format("{} {} -> {}", c.what, c.before.empty() ? "not written" : c.before, c.after);
    }
  }
  return out;
}

std::string_view verdict_text(const std::optional<Verdict>& verdict, bool waived) {
  if (waived) return "waived";
  return verdict ? name_of(*verdict) : "not asked";
}

void add_verdicts(std::string& out, std::string_view heading, const std::vector<VerdictChange>& list) {
  if (list.empty()) return;
  out += fmt::format("{}\n", heading);
  for (const VerdictChange& v : list) {
    out += wrapped(fmt::format("{} '{}': {}, was {}{}{}", v.rule, v.subject, verdict_text(v.after, v.waived_after),
                               verdict_text(v.before, v.waived_before), v.what.empty() ? "" : ": ", v.what),
                   2, page_width);
  }
  out += "\n";
}

std::string whole_percent(double used) {
  return fmt::format("{:.0f} %", used * 100);
}

void add_margins(std::string& out, const std::vector<MarginChange>& margins) {
  if (margins.empty()) return;
  out += "margins that moved, in % of the limit\n";
  for (const MarginChange& m : margins) {
    out +=
        wrapped(fmt::format("{} '{}': {} -> {} ({} of {} -> {} of {})", m.rule, m.subject, whole_percent(m.before.used),
                            whole_percent(m.after.used), m.before.value, m.before.limit, m.after.value, m.after.limit),
                2, page_width);
  }
  out += "\n";
}

void add_steps(std::string& out, const std::vector<StepAgain>& steps) {
  if (steps.empty()) return;
  out += "test steps to repeat, as numbered on the new sheet\n";
  for (std::size_t i = 0; i < steps.size();) {
    // Steps of one section with one reason stand together.
    std::string numbers;
    std::size_t k = i;
    for (; k < steps.size() && steps[k].section == steps[i].section && steps[k].why == steps[i].why; ++k)
      numbers += (numbers.empty() ? "" : " ") + steps[k].number;
    out += wrapped(fmt::format("{} ({}): {}", steps[i].section, steps[i].why, numbers), 2, page_width);
    i = k;
  }
  out += "\n";
}

}  // namespace

std::string compare_text(const Comparison& c) {
  std::string out = fmt::format("{} -> {}\n\n", washed(c.old_file), washed(c.new_file));
  add_verdicts(out, "became worse", c.worse);
  add_verdicts(out, "became better", c.better);
  add_verdicts(out, "no longer counted, or counted again", c.other);
  if (!c.wires.empty()) {
    out += "wires\n";
    for (const WireChange& w : c.wires) {
      out += wrapped(fmt::format("{} '{}': {}", work_of(w), w.name, changes_text(w.changes, w.added)), 2, page_width);
    }
    out += "\n";
  }
  if (!c.things.empty()) {
    out += "parts, bundles, duty, requirements\n";
    for (const ThingChange& t : c.things) {
      const std::string_view fate = !t.added ? "" : *t.added ? " is new" : " is gone";
      const std::string changes = changes_text(t.changes, t.added.value_or(false));
      out += wrapped(fmt::format("{}{}{}{}{}", t.kind, t.name.empty() ? "" : " '" + t.name + "'", fate,
                                 changes.empty() ? "" : ": ", changes),
                     2, page_width);
    }
    out += "\n";
  }
  add_margins(out, c.margins);
  add_steps(out, c.steps);
  if (!c.electrical()) out += "nothing electrical changed\n";
  const auto cut = std::count_if(c.wires.begin(), c.wires.end(),
                                 [](const WireChange& w) { return w.work == WireChange::Work::cut; });
  out +=
      fmt::format("{} worse, {} better; {} to cut, {} to repeat\n", counted(c.worse.size(), "verdict"), c.better.size(),
                  counted(static_cast<std::size_t>(cut), "wire"), counted(c.steps.size(), "test step"));
  return out;
}

}  // namespace loomproof
