#pragma once

#include <iostream>
#include <rapidcheck.h>
#include <utility>

namespace restep::property {

/// A whole number from `low` up to but without `high`, each as likely as the others: by itself RapidCheck
/// keeps to the low ones in the first of its tests.
inline int draw(int low, int high) {
  return *rc::gen::resize(rc::kNominalSize, rc::gen::inRange(low, high));
}

/// Holds a property against `tests` draws, all of them different: each rc::check of a process draws the same.
template <typename Property>
bool holds_often(int tests, Property&& property) {
  auto parameters = rc::detail::configuration().testParams;
  parameters.maxSuccess = tests;
  auto const result =
      rc::detail::checkTestable(std::forward<Property>(property), rc::detail::TestMetadata{}, parameters);
  rc::detail::printResultMessage(result, std::cerr);
  std::cerr << '\n';
  return result.template is<rc::detail::SuccessResult>();
}

} // namespace restep::property
