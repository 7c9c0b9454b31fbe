// A comparison as one JSON document: keys in a fixed order, nothing left out, pure ASCII (docs/papers.md).
#include "show/compare.h"
#include "show/json_values.h"

namespace loomproof {
namespace {

Json changes_of(const std::vector<Change>& changes) {
  Json out = Json::array();
  for (const Change& c : changes)
    out.push_back({{"what", c.what}, {"before", text_or_null(c.before)}, {"after", text_or_null(c.after)}});
  return out;
}

Json verdicts_of(const std::vector<VerdictChange>& list) {
  Json out = Json::array();
  const auto side = [](const std::optional<Verdict>& verdict, bool waived) {
    return Json{{"verdict", verdict ? Json(name_of(*verdict)) : Json(nullptr)}, {"waived", waived}};
  };
  for (const VerdictChange& v : list) {
    out.push_back({{"rule", v.rule},
                   {"subject", v.subject},
                   {"before", side(v.before, v.waived_before)},
                   {"after", side(v.after, v.waived_after)},
                   {"what", text_or_null(v.what)}});
  }
  return out;
}

std::string_view name_of_work(WireChange::Work work) {
  switch (work) {
    case WireChange::Work::cut:
      return "cut";
    case WireChange::Work::end:
      return "end";
    case WireChange::Work::label:
      return "label";
    case WireChange::Work::remove:
      return "remove";
  }
  return "";
}

Json figure_of(const Figure& figure) {
  return {{"figure", figure.value}, {"limit", figure.limit}, {"used", number_of(figure.used)}};
}

}  // namespace

std::string compare_json(const Comparison& c) {
  Json out;
  out["format"] = 1;
  out["tool"] = {{"name", "loomproof"}, {"version", LOOMPROOF_VERSION}};
  out["old"] = c.old_file;
  out["new"] = c.new_file;
  out["worst"] = c.worse.empty() ? Json(nullptr) : Json(name_of(c.worst()));
  out["worse"] = verdicts_of(c.worse);
  out["better"] = verdicts_of(c.better);
  out["other"] = verdicts_of(c.other);
  out["wires"] = Json::array();
  for (const WireChange& w : c.wires) {
    out["wires"].push_back(
        {{"wire", w.name}, {"work", name_of_work(w.work)}, {"new", w.added}, {"changes", changes_of(w.changes)}});
  }
  out["things"] = Json::array();
  for (const ThingChange& t : c.things) {
    out["things"].push_back({{"kind", t.kind},
                             {"name", text_or_null(t.name)},
                             {"fate", !t.added   ? "changed"
                                      : *t.added ? "new"
                                                 : "gone"},
                             {"changes", changes_of(t.changes)}});
  }
  out["margins"] = Json::array();
  for (const MarginChange& m : c.margins) {
    out["margins"].push_back({{"rule", m.rule},
                              {"subject", m.subject},
                              {"before", figure_of(m.before)},
                              {"after", figure_of(m.after)},
                              {"situation", text_or_null(m.situation)}});
  }
  out["steps"] = Json::array();
  for (const StepAgain& s : c.steps) {
    out["steps"].push_back({{"number", s.number},
                            {"section", s.section},
                            {"what", s.what},
                            {"red", text_or_null(s.red)},
                            {"black", text_or_null(s.black)},
                            {"expected", text_or_null(s.expected)},
                            {"why", s.why}});
  }
  // What is not UTF-8 becomes U+FFFD, and every byte beyond ASCII is escaped: safe on any terminal.
  return out.dump(2, ' ', true, Json::error_handler_t::replace) + "\n";
}

}  // namespace loomproof
