// Tables of the report: every wire, closest calls, and what the answer rests on.
#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "rules/list.h"
#include "show/assumption_text.h"
#include "show/caution.h"
#include "show/finding_text.h"
#include "show/fuse_use.h"
#include "show/kind_values.h"
#include "show/report_escape.h"
#include "show/report_sections.h"
#include "show/single_points.h"
#include "show/stud_names.h"
#include "units/print.h"

namespace loomproof::report {
namespace {

// No source of the network drives a short there, which makes no lead of a motor or a sensor a dead one.
std::string unfed_text(const Story& story, const Wire& wire) {
  const auto& leads = story.loom.elements.leads;
  const auto is_lead = [&](TerminalIndex t) {
    return std::any_of(leads.begin(), leads.end(), [&](const Lead& lead) { return lead.terminal == t; });
  };
  if (is_lead(wire.from) || is_lead(wire.to)) return "motor lead, its controller limits it";
  return story.zones[wire.from.value] == Zone::signal ? "signal lead, nothing drives a short" : "no source behind it";
}

std::string protection_text(const Story& story, std::size_t w) {
  const WireProtection& p = story.solved.protection.wires[w];
  using State = WireProtection::State;
  const auto fuse = [&] {
    return p.fuse ? html(story.loom.part(story.loom.elements.fuses[*p.fuse].part).name) : std::string();
  };
  switch (p.state) {
    case State::no_source:
      return unfed_text(story, story.loom.wires[w]);
    case State::device:
      return p.fuse ? fuse() : "its source ends here";
    case State::limited:
      return "its source limits itself";
    case State::short_lead:
      return "short lead, none needed";
    case State::oversize:
      return fmt::format("{}: too large", fuse());
    case State::none:
      return "none";
    case State::unknown:
      return fmt::format("unknown: {} is missing", html(p.missing));
  }
  return {};
}

std::string temperature_text(const WireHeat& heat) {
  switch (heat.state) {
    case WireHeat::State::no_size:
      return "size missing";
    case WireHeat::State::melts:
      return fmt::format("melts; limit {}", show(heat.limit));
    case WireHeat::State::no_insulation:
      return fmt::format("{}; insulation missing", show(heat.peak));
    case WireHeat::State::computed:
      break;
  }
  return fmt::format("{} of {}", show(heat.peak), show(heat.limit));
}

template <class T>
std::string written(const std::optional<Placed<T>>& value) {
  return value ? html(value->written.empty() ? show(value->value) : value->written) : "missing";
}
std::string written(const std::optional<Placed<std::string>>& value) {
  return value ? html(value->value) : "missing";
}

std::string wire_row(const Story& story, std::size_t w) {
  const Loom& loom = story.loom;
  const Wire& wire = loom.wires[w];
  std::string numbers;
  for (const std::size_t n : findings_of(story, WireIndex{w})) {
    numbers += fmt::format("{0}<a href=\"#f{1}\">{1}</a>", numbers.empty() ? "" : ", ", n);
  }
  std::string bundles;
  for (const BundleIndex b : wire.bundles) bundles += (bundles.empty() ? "" : ", ") + html(loom.bundles[b.value].name);
  const FuseUse use = most_in_use(story.solved, WireIndex{w});
  const std::string most = use.most.value > 0 ? show(use.most) + (use.precharge ? " (precharge)" : "") : "none";
  return fmt::format(
      "<tr id=\"w{0}\" data-wire=\"{0}\"><th scope=\"row\"><button class=\"plain\" type=\"button\" "
      "data-pick=\"{0}\">{1}</button></th><td>{2}</td><td>{3}</td><td class=\"n\">{4}</td><td "
      "class=\"n\">{5}</td><td>{6}</td>"
      "<td>{7}</td><td>{8}</td><td class=\"n\">{9}</td><td class=\"n\">{10}</td><td>{11}</td><td>{12}</td></tr>\n",
      w, html(wire.name), html(loom.title(wire.from)), html(loom.title(wire.to)), written(wire.size),
      written(wire.length), written(wire.insulation), wire.colour ? html(wire.colour->value) : "", bundles, most,
      temperature_text(story.solved.heat[w]), protection_text(story, w), numbers);
}

std::string percent(double used) {
  const double shown = used < 1 ? std::min(used * 100, 99.9) : used * 100;
  return fmt::format("{:.1f} %", shown);
}

bool is_used(const Story& story, const Waiver& waiver) {
  const auto& all = story.judgement.obligations;
  return std::any_of(all.begin(), all.end(), [&](const Obligation& owed) {
    return owed.set_aside() && owed.waived == waiver.reason &&
           (waiver.rule == slug_of(owed) || waiver.rule == owed.subject.name) &&
           (waiver.subject.empty() || waiver.subject == owed.subject.name);
  });
}

std::string waivers(const Story& story) {
  std::string items;
  for (const Obligation& owed : story.judgement.obligations) {
    if (!owed.set_aside()) continue;
    items += fmt::format("<li><b>{}:</b> {} (<code>{}</code>). Reason given: {}</li>", headword_of(owed),
                         html(sentence_of(owed)), slug_of(owed), html(owed.waived));
  }
  for (const Waiver& waiver : story.loom.waivers) {
    if (is_used(story, waiver)) continue;
    items +=
        fmt::format("<li>Line {}: the waiver of <code>{}</code>{} sets nothing aside. Reason given: {}</li>",
                    waiver.at.line, html(waiver.rule),
                    waiver.subject.empty() ? "" : fmt::format(" for {}", html(waiver.subject)), html(waiver.reason));
  }
  return items.empty() ? "<p>Nothing was set aside.</p>" : "<ul>" + items + "</ul>";
}

std::string coverage(const Coverage& c) {
  if (c.situations_possible == 0) return "<p>No situation was computed.</p>";
  if (c.situations_covered >= c.situations_possible && c.left_out.empty()) {
    return fmt::format(
        "<p>{} situations (switch positions and pack charges), all that are possible, each with every "
        "duty point that can occur in it.</p>",
        c.situations_covered);
  }
  if (!c.in_between.empty()) {
    return fmt::format("<p>{} of {} situations settled; between them lie the others, {}.</p>", c.situations_covered,
                       c.situations_possible, html(c.in_between));
  }
  return fmt::format("<p>{} of {} situations. {}</p>", c.situations_covered, c.situations_possible,
                     c.left_out.empty() ? "The rest was not looked at." : "Left out: " + html(c.left_out) + ".");
}

/// What the kinds of the parts bring along: true of such a part in general, not of the one on the bench.
std::string taken_from_kinds(const Loom& loom) {
  std::string rows;
  for (const KindValue& v : kind_values(loom)) {
    rows +=
        fmt::format("<tr><td><code>{}</code></td><td>{}</td><td>{}</td><td>{}</td><td class=\"long\">{}</td></tr>\n",
                    html(v.kind), html(v.attribute), html(v.value), html(v.source.empty() ? "none given" : v.source),
                    html(fmt::format("{}", fmt::join(v.parts, ", "))));
  }
  if (rows.empty()) return {};
  return "<p>These values stand in the kinds of the parts and were taken because the file leaves them out. What you "
         "bought may differ: write the value at the part to override it.</p><div class=\"scroll\" tabindex=\"0\" "
         "role=\"region\" aria-label=\"Values taken from the kinds\"><table id=\"kindtable\"><thead><tr><th "
         "scope=\"col\">kind</th><th scope=\"col\">what</th><th scope=\"col\">taken</th><th "
         "scope=\"col\">source</th><th "
         "scope=\"col\">for</th></tr></thead><tbody>" +
         rows + "</tbody></table></div>";
}

}  // namespace

std::string used_bar(double used) {
  const int width = static_cast<int>(std::lround(std::clamp(used, 0.0, 1.0) * 100));
  return fmt::format("<span class=\"used\" aria-hidden=\"true\"><i style=\"width:{}%\"></i></span> {}", width,
                     percent(used));
}

std::string wire_table(const Story& story) {
  std::string out =
      "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"Table of all wires\"><table "
      "id=\"wiretable\"><thead><tr><th "
      "scope=\"col\">wire</th><th scope=\"col\">from</th><th scope=\"col\">to</th><th scope=\"col\" "
      "class=\"n\">size</th><th "
      "scope=\"col\" class=\"n\">length</th><th scope=\"col\">insulation</th><th scope=\"col\">colour</th><th "
      "scope=\"col\">bundle</th><th scope=\"col\" class=\"n\">most current</th><th scope=\"col\" class=\"n\">hottest, "
      "of "
      "limit</th><th scope=\"col\">least to spare</th><th scope=\"col\">findings</th></tr></thead><tbody>\n";
  for (std::size_t w = 0; w < story.loom.wires.size(); ++w) out += wire_row(story, w);
  return out + "</tbody></table></div>";
}

std::string closest_calls(const Story& story) {
  const std::vector<const Obligation*> closest = story.judgement.closest(10);
  if (closest.empty()) return "<p>Nothing that holds has a figure to compare.</p>";
  std::string out =
      "<p>These hold, with the least to spare.</p><div class=\"scroll\" tabindex=\"0\" role=\"region\" "
      "aria-label=\"Closest "
      "calls\"><table><thead><tr><th scope=\"col\">rule</th><th scope=\"col\">subject</th><th "
      "scope=\"col\">computed</th><th scope=\"col\">limit</th><th scope=\"col\">used</th><th "
      "scope=\"col\">in</th></tr></thead><tbody>";
  for (const Obligation* owed : closest) {
    out += fmt::format(
        "<tr><td><code>{}</code></td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td></tr>\n", slug_of(*owed),
        owed->subject.wire ? wire_link(story, *owed->subject.wire) : html(owed->subject.name),
        html(owed->figure->value), html(owed->figure->limit), used_bar(owed->figure->used), html(owed->situation));
  }
  return out + "</tbody></table></div>";
}

std::string wire_link(const Story& story, WireIndex wire) {
  return fmt::format("<a href=\"#w{}\">{}</a>", wire.value, html(story.loom.wire(wire).name));
}

std::string small_print(const Story& story) {
  std::string out = "<h3>Set aside by the file</h3>" + waivers(story);
  out += "<h3>Assumed where the file is silent</h3>";
  std::string items;
  for (const AssumptionLine& line : merged(story.loom, story.judgement.assumptions)) {
    items += fmt::format("<li>{}</li>", html(line.text));
  }
  for (const std::string& stud : likely_slips_in_studs(story.loom)) items += fmt::format("<li>{}</li>", html(stud));
  if (!items.empty())
    out += "<p>Each is the more demanding choice; write the value to override it.</p><ul>" + items + "</ul>";
  const std::string taken = taken_from_kinds(story.loom);
  out += taken;
  if (items.empty() && taken.empty()) out += "<p>The file leaves nothing out that a value was taken for.</p>";
  out += "<h3>Single points of failure that remain</h3>";
  items.clear();
  for (const std::string& line : lines_of(story.judgement.single_points))
    items += fmt::format("<li>{}</li>", html(line));
  out += items.empty() ? "<p>None was found.</p>"
                       : "<p>No other wiring removes these: only a second switch, contact or wire does.</p><ul>" +
                             items + "</ul>";
  out += "<h3>Looked at</h3>" + coverage(story.judgement.coverage);
  if (!story.solved.troubled.empty()) {
    out += fmt::format("<p>{} states did not settle; the rules say what that means.</p>", story.solved.troubled.size());
  }
  return out;
}

std::string cautions() {
  std::string items;
  for (const Caution& caution : general_cautions())
    items += fmt::format("<li><b>{}</b> {}</li>", caution.head, caution.text);
  return fmt::format(
      "<aside class=\"cautions\" aria-label=\"Cautions\"><h2>Before you touch it</h2><ul>{}</ul></aside>", items);
}

}  // namespace loomproof::report
