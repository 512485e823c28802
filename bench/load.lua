-- What 200 people and programs ask of a laboratory: mostly pages, some searches, views for programs, judging
-- of what is typed, and entries. Told where by the environment: load.py.

local token, origin = os.getenv("LOAD_TOKEN"), os.getenv("LOAD_ORIGIN")
local pages, searches, views = {}, {}, {}
for kind, list in pairs({ LOAD_PAGES = pages, LOAD_SEARCHES = searches, LOAD_VIEWS = views }) do
  for path in os.getenv(kind):gmatch("%S+") do list[#list + 1] = path end
end

local threads = {}
function setup(thread)
  thread:set("number", #threads + 1)
  threads[#threads + 1] = thread
end

function init()
  -- Seeded, so that every run asks the same.
  math.randomseed(number)
  answered, entered, recorded = {}, 0, 0
end

local person = { ["Cookie"] = "stonewear-person=IK" }
local program = { ["Authorization"] = "Bearer " .. token }
local form = {
  ["Cookie"] = "stonewear-person=IK",
  ["Origin"] = origin,
  ["Content-Type"] = "application/x-www-form-urlencoded",
  -- As the page's own script sends it: the answer says whether it was recorded.
  ["Stonewear-Sent"] = "1",
}

-- Who reads and types does not ask again at once: so many milliseconds in the mean between an answer and the
-- next question; nothing where all ask as fast as they are answered.
local pause = tonumber(os.getenv("LOAD_PAUSE_MS") or "0")
if pause > 0 then
  function delay() return math.random(0, 2 * pause) end
end

local function one_of(list) return list[math.random(#list)] end

function request()
  local lot = math.random(100)
  if lot <= 60 then return wrk.format("GET", one_of(pages), person) end
  if lot <= 70 then return wrk.format("GET", one_of(searches), person) end
  if lot <= 85 then return wrk.format("GET", one_of(views), program) end
  if lot <= 93 then
    return wrk.format("POST", "/judge?field=nominal_maximum_mm", form,
      "request=receive-sample&nominal_maximum_mm=" .. math.random(40))
  end
  -- An entry, and no two alike.
  entered = entered + 1
  return wrk.format("POST", "/samples/new", form, string.format(
    "request=receive-sample&source=Invented+quarry+%d-%d&material=granite&nominal_maximum_mm=19.0",
    number, entered))
end

function response(status, headers)
  answered[status] = (answered[status] or 0) + 1
  for name, value in pairs(headers) do
    if name:lower() == "stonewear-outcome" and value == "recorded" then recorded = recorded + 1 end
  end
end

function done(summary, latency)
  local counts, kept = {}, 0
  for _, thread in ipairs(threads) do
    kept = kept + thread:get("recorded")
    for status, count in pairs(thread:get("answered")) do
      counts[status] = (counts[status] or 0) + count
    end
  end
  local statuses = {}
  for status, count in pairs(counts) do statuses[#statuses + 1] = string.format('"%d":%d', status, count) end
  local errors = summary.errors
  io.write(string.format(
    'LOAD {"answers":%d,"seconds":%.3f,"median_ms":%.3f,"p90_ms":%.3f,"p99_ms":%.3f,"worst_ms":%.3f,' ..
    '"lines":%d,"late":%d,"acknowledged":%d,"statuses":{%s}}\n',
    summary.requests, summary.duration / 1e6, latency:percentile(50) / 1e3, latency:percentile(90) / 1e3,
    latency:percentile(99) / 1e3, latency.max / 1e3, errors.connect + errors.read + errors.write,
    errors.timeout, kept, table.concat(statuses, ",")))
end
