#include "geometry/in_parallel.hpp"

#include <catch2/catch.hpp>

#include <stdexcept>
#include <vector>

using restep::geometry::in_parallel;

TEST_CASE("every index is worked on once, by any number of threads", "[geometry]") {
  for (std::size_t const threads : {0, 1, 2, 7, 100}) {
    std::vector<int> times(50, 0);
    in_parallel(
        times.size(), [&](std::size_t i) { ++times[i]; }, threads);
    CHECK(times == std::vector<int>(50, 1));
  }
  in_parallel(0, [](std::size_t) { FAIL("there is nothing to work on"); });
}

TEST_CASE("trouble in a thread is trouble of the whole", "[geometry]") {
  CHECK_THROWS_AS(in_parallel(
                      100,
                      [](std::size_t i) {
                        if (i == 63) throw std::runtime_error("63");
                      },
                      3),
                  std::runtime_error);
}
