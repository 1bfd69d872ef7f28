/* A charger of DIN SPEC 70121 for `handfast fuzz --charger 'exec:./charger'`: a line in, a line out, until the input ends.
   Every line is one JSON object as controller.schema.json has it; strstr finds all that this small charger looks for. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *STEPS[] = {"supportedAppProtocol", "SessionSetup", "ServiceDiscovery", "ServicePaymentSelection",
    "ContractAuthentication", "ChargeParameterDiscovery", "CableCheck", "PreCharge", "PowerDelivery", "CurrentDemand",
    "PowerDelivery", "WeldingDetection", "SessionStop"};
enum { PARAMETERS = 5, TEST, APPROACH, START, DEMAND, STOP, WELD, END };

static char line[65536], out[4096];
static int step, over, dark, pilot_C, rounds, live, leak; /* over: all is refused; dark: no more power in this session */
static double at, silent_at, volts, amperes, most_V, most_A;

static int has(const char *text) { return strstr(line, text) != NULL; }
static double number(const char *from, const char *name) {
  const char *found = from ? strstr(from, name) : NULL;
  return found ? atof(found + strlen(name)) : 0;
}
static double least(double a, double b) { return a < b ? a : b; }
static void output(const char *to, double V, double A) {
  live = V > 0;
  sprintf(out + strlen(out), "{\"drive\":\"output\",\"to\":\"%s\",\"voltage_V\":%.1f,\"current_A\":%.1f},", to, V, A);
}

static int expected(const char *name) { /* the step a request is, or -1 where it comes out of order */
  if (!strcmp(name, STEPS[END]) && step > 0) return END;
  if (!strcmp(name, STEPS[STOP]) && has("\"progress\":\"stop\"") && step >= PARAMETERS) return STOP;
  int again = step == TEST || step == APPROACH || step == DEMAND || step == WELD;
  if (again && !strcmp(name, STEPS[step])) return step;
  if (step == TEST && rounds < 4) return -1; /* no step out of the test but by its end */
  return step < END && !strcmp(name, STEPS[step + 1]) ? step + 1 : -1;
}

static const char *answer(void) { /* facts of the answer; what it may deliver is driven on the way */
  int well = has("\"error\":\"none\"") && !has("\"ready\":\"no\"") && !has("\"complete\":\"yes\"");
  double V = least(least(number(line, "\"targetVoltage_V\":"), most_V), 500);
  double A = least(least(number(line, "\"targetCurrent_A\":"), most_A), 200);
  if (step == PARAMETERS) most_V = number(strstr(line, "\"limits\":"), "\"voltage_V\":"), most_A = number(strstr(line, "\"limits\":"), "\"current_A\":");
  if (step == TEST) {
    if (leak || dark || has("\"error\":\"fault\"") || ++rounds > 300) return NULL;
    if (!pilot_C) rounds = 1;
    if (pilot_C && rounds == 2) output("test", least(most_V, 500), 0);
    if (rounds < 4) return "\"processing\":\"ongoing\"";
    output("off", 0, 0);
    return "\"processing\":\"finished\",\"isolation\":\"valid\"";
  }
  if (step >= APPROACH && step <= DEMAND && (!well || !pilot_C || leak)) dark = 1;
  if (step >= STOP || dark) output("off", 0, 0);
  else if (step == APPROACH) output("precharge", V, least(A, 2));
  else if (step == START || step == DEMAND) output("on", step == START ? volts : V, step == START ? 0 : A), silent_at = at + 0.9;
  return leak ? "\"isolation\":\"fault\",\"status\":\"malfunction\"" : dark ? "\"status\":\"shutdown\"" : "\"processing\":\"finished\"";
}

int main(void) {
  char name[64];
  if (!fgets(line, sizeof line, stdin)) return 1;
  puts("{\"handfast\":\"controller\",\"version\":1}"), fflush(stdout);
  while (fgets(line, sizeof line, stdin)) {
    const char *request = strstr(line, "\"name\":\"");
    out[0] = 0, at = number(line, "\"at\":");
    if (has("\"start\":")) step = -1, over = dark = pilot_C = rounds = live = leak = 0, silent_at = 0, most_V = most_A = 0;
    if (has("\"place\":\"output\"")) volts = number(line, "\"voltage_V\":"), amperes = number(line, "\"current_A\":");
    if (has("\"kind\":\"isolation\"")) leak = number(line, "\"resistance_ohm\":") <= 1e5; /* 100 ohm a volt of 1000 V */
    if (has("\"kind\":\"pilot\"")) pilot_C = has("\"state\":\"C\"");
    if (has("\"kind\":\"link\"") && !has("\"state\":\"opened\"")) over = 1;
    if (has("\"alarm\":\"emergency\"")) over = 1;
    if (live && (over || !pilot_C || (silent_at && at >= silent_at))) output("off", 0, 0), dark = 1;
    if (request && sscanf(request + 8, "%60[A-Za-z]", name) == 1) {
      name[strlen(name) - 3] = 0;
      int next = over || has("\"session\":\"foreign\"") ? -1 : expected(name);
      const char *facts = next < 0 ? NULL : (step = next, answer());
      if (!facts) over = 1, output("off", 0, 0);
      sprintf(out + strlen(out), "{\"send\":\"%sRes\",\"facts\":{%s},\"numbers\":{\"presentVoltage_V\":%.1f,\"presentCurrent_A\":%.1f}},",
              name, facts ? facts : "\"code\":\"failed\"", volts, amperes);
    }
    if (*out) out[strlen(out) - 1] = 0;
    if (live && silent_at) printf("{\"outputs\":[%s],\"wakeAt\":%.9f}\n", out, silent_at);
    else printf("{\"outputs\":[%s],\"wakeAt\":null}\n", out);
    fflush(stdout);
  }
  return 0;
}
