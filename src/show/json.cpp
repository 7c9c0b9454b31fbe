// The answer as JSON: keys in a fixed order, nothing left out, pure ASCII. The format is described in docs/json.md.
#include "rules/list.h"
#include "show/finding_text.h"
#include "show/json_faults.h"
#include "show/json_values.h"
#include "show/kind_values.h"
#include "show/show.h"

namespace loomproof {
namespace {

// Strings are kept as the user wrote them; what is not UTF-8 becomes U+FFFD, and every byte beyond ASCII is escaped,
// so that the document can be printed on any terminal.
std::string dumped(const Json& document) {
  return document.dump(2, ' ', true, Json::error_handler_t::replace) + "\n";
}

Json place_of(Place at) {
  return at ? Json{{"line", at.line}, {"column", at.column}} : Json(nullptr);
}

Json obligation_of(const Obligation& owed, const Loom* loom) {
  Json out;
  out["rule"] = slug_of(owed);
  out["group"] = owed.rule ? Json(name_of(owed.rule->group)) : Json(nullptr);
  out["severity"] = name_of(owed.weight());
  out["subject"] = owed.subject.name;
  out["place"] = place_of(owed.subject.at);
  out["verdict"] = name_of(owed.verdict.value_or(Verdict::undecided));
  out["waived"] = owed.set_aside() ? Json(owed.waived) : Json(nullptr);
  out["what"] = text_or_null(owed.what);
  out["figure"] = owed.figure ? Json(owed.figure->value) : Json(nullptr);
  out["limit"] = owed.figure ? Json(owed.figure->limit) : Json(nullptr);
  out["used"] = owed.figure ? number_of(owed.figure->used) : Json(nullptr);
  out["situation"] = text_or_null(owed.situation);
  out["notes"] = Json::array();
  for (const Note& note : owed.notes) out["notes"].push_back({{"place", place_of(note.at)}, {"text", note.text}});
  out["fix"] = text_or_null(owed.mend);
  out["moves"] = owed.moves;
  out["path"] = Json::array();
  for (WireIndex wire : owed.path) {
    if (loom != nullptr) out["path"].push_back(loom->wire(wire).name);
  }
  return out;
}

Json answer_of(const FileAnswer& answer) {
  Json out;
  out["file"] = answer.file;
  out["checked"] = answer.judgement != nullptr;
  out["vehicle"] = answer.loom ? text_or_null(answer.loom->vehicle) : Json(nullptr);
  out["faults"] = Json::array();
  if (answer.faults) {
    for (const ReadFault& fault : *answer.faults) {
      out["faults"].push_back(
          {{"place", place_of(fault.at)}, {"what", fault.what}, {"hint", text_or_null(fault.hint)}});
    }
  }
  if (!answer.judgement) return out;
  const Judgement& judgement = *answer.judgement;
  out["counts"] = {{"holds", judgement.count(Verdict::holds)},
                   {"broken", judgement.count(Verdict::broken)},
                   {"undecided", judgement.count(Verdict::undecided)},
                   {"waived", judgement.waived()}};
  out["coverage"] = {{"covered", judgement.coverage.situations_covered},
                     {"possible", judgement.coverage.situations_possible},
                     {"left_out", text_or_null(judgement.coverage.left_out)},
                     {"in_between", text_or_null(judgement.coverage.in_between)},
                     {"single_faults", judgement.coverage.single_faults},
                     {"fault_situations", judgement.coverage.fault_states},
                     {"fault_points", judgement.coverage.fault_points},
                     {"fault_pairs", judgement.coverage.fault_pairs},
                     {"fault_pairs_bounded", judgement.coverage.fault_bounded},
                     {"fault_pairs_cut", judgement.coverage.fault_cut},
                     {"fault_left_out", text_or_null(judgement.coverage.fault_left_out)}};
  out["single_points"] = Json::array();
  for (const SinglePoint& point : judgement.single_points)
    out["single_points"].push_back(point.fault + ": " + point.happens);
  out["obligations"] = Json::array();
  for (const Obligation& owed : judgement.obligations) out["obligations"].push_back(obligation_of(owed, answer.loom));
  out["assumptions"] = Json::array();
  for (const Assumption& assumption : judgement.assumptions) {
    out["assumptions"].push_back({{"text", assumption.text}, {"place", place_of(assumption.at)}});
  }
  out["kind_values"] = Json::array();
  if (answer.loom) {
    for (const KindValue& v : kind_values(*answer.loom)) {
      out["kind_values"].push_back({{"kind", v.kind},
                                    {"attribute", v.attribute},
                                    {"value", v.value},
                                    {"source", text_or_null(v.source)},
                                    {"parts", v.parts}});
    }
  }
  out["waivers"] = Json::array();
  if (answer.loom) {
    for (const Waiver& waiver : answer.loom->waivers) {
      out["waivers"].push_back({{"rule", waiver.rule},
                                {"subject", text_or_null(waiver.subject)},
                                {"reason", waiver.reason},
                                {"place", place_of(waiver.at)}});
    }
  }
  if (answer.loom != nullptr && answer.dictionary != nullptr)
    out["fault_dictionary"] = json_of_faults(*answer.loom, *answer.dictionary);
  return out;
}

}  // namespace

std::string json_of(const std::vector<FileAnswer>& answers) {
  Json document;
  document["format"] = 1;
  document["tool"] = {{"name", "loomproof"}, {"version", LOOMPROOF_VERSION}};
  document["files"] = Json::array();
  for (const FileAnswer& answer : answers) document["files"].push_back(answer_of(answer));
  return dumped(document);
}

}  // namespace loomproof
