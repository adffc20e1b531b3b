// Made by `npm run types` from the OpenAPI document; not edited by hand.
export interface paths {
    "/api/days": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Days
         * @description List the days there are, latest first.
         */
        get: operations["days_api_days_get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/days/{day}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Day
         * @description Give a day: "today", "yesterday", "last" or its date.
         */
        get: operations["day_api_days__day__get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/days/{day}/report": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Report
         * @description Give a day's report, to be shown in the page; its map is drawn so wide.
         */
        get: operations["report_api_days__day__report_get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/days/{day}/report.html": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Report Html
         * @description Give a day's report as one HTML file that asks for nothing else.
         */
        get: operations["report_html_api_days__day__report_html_get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/days/{day}/report.pdf": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Report Pdf
         * @description Give a day's report as a PDF, on the paper that goes with the units.
         */
        get: operations["report_pdf_api_days__day__report_pdf_get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/hello": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Hello
         * @description Say who answers, and in what units people may have it.
         */
        get: operations["hello_api_hello_get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/jobs/{name}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Job
         * @description Give a task as it stands.
         */
        get: operations["job_api_jobs__name__get"];
        put?: never;
        post?: never;
        /**
         * Stop
         * @description Tell a task to stop.
         */
        delete: operations["stop_api_jobs__name__delete"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/journal/events": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Take
         * @description Take entries into the journal; each any number of times, and none keeps another out.
         *
         *     What is answered "taken" or "had" is on the disk.
         */
        post: operations["take_api_journal_events_post"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/journal/clock": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Boat Time
         * @description Give the boat's time, by which a phone sets right what it logs.
         */
        get: operations["boat_time_api_journal_clock_get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/journal/day": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Day
         * @description Give a day's log as it stands: entries in words, checks, rods with what is out.
         */
        get: operations["day_api_journal_day_get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/journal/aboard": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Aboard Now
         * @description Give rods, rigs, lures, colours and fish to choose from.
         */
        get: operations["aboard_now_api_journal_aboard_get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/journal-file": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Give
         * @description Give the journal, or one day of it, as JSON Lines: nothing left out, taken in anywhere.
         */
        get: operations["give_api_journal_file_get"];
        put?: never;
        /**
         * Take
         * @description Take a file in, by a task; the same file twice adds nothing.
         *
         *     The body is the file itself; `name` says by its ending what it is: .jsonl, .geojson, .csv, .gpx,
         *     .nmea, .log, .txt, .tsv.
         */
        post: operations["take_api_journal_file_post"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/lakes": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Lakes
         * @description List the lakes that are kept.
         */
        get: operations["lakes_api_lakes_get"];
        put?: never;
        /**
         * Upload
         * @description Build a lake from a sounder's log: the file is the request's body, as it is.
         *
         *     A shoreline follows it in the same body: `shore` is its name, `shore_bytes` how long it is.
         */
        post: operations["upload_api_lakes_post"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/lakes/{name}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Lake
         * @description Give the figures of a lake.
         */
        get: operations["lake_api_lakes__name__get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/lakes/{name}/map": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Lake Map
         * @description Give the map of a lake; with a depth, also what there is at that depth.
         */
        get: operations["lake_map_api_lakes__name__map_get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/lakes/{name}/edges": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Edges
         * @description Find edges, points, inside turns, humps and flats at a depth; thinned for a screen or not.
         */
        get: operations["edges_api_lakes__name__edges_get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/lakes/{name}/depth": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Depth
         * @description Tell how deep it is at a place, and how sure that is.
         */
        get: operations["depth_api_lakes__name__depth_get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/fish/limits": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Limits
         * @description Give the limits the crew entered.
         */
        get: operations["limits_api_fish_limits_get"];
        /**
         * Enter
         * @description Enter the limits for a fish on a water, in place of those there were; checked today.
         */
        put: operations["enter_api_fish_limits_put"];
        post?: never;
        /**
         * Forget
         * @description Take the limits for a fish on a water away.
         */
        delete: operations["forget_api_fish_limits_delete"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/pairing": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Pairing
         * @description Tell how things stand.
         */
        get: operations["pairing_api_pairing_get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/pairing/code": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * New Code
         * @description Make a new code; the boat's own machine alone may.
         */
        post: operations["new_code_api_pairing_code_post"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/pairing/{phone}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        post?: never;
        /**
         * Put Ashore
         * @description Put a phone ashore: the boat's own machine any, a phone only itself.
         */
        delete: operations["put_ashore_api_pairing__phone__delete"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/lakes/{lake}/passes": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Listed
         * @description List the plans that are kept for a lake, the newest first.
         */
        get: operations["listed_api_lakes__lake__passes_get"];
        put?: never;
        /**
         * Plan
         * @description Begin to plan passes; the task's result is the plan's id.
         */
        post: operations["plan_api_lakes__lake__passes_post"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/lakes/{lake}/passes/{plan}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Whole
         * @description Give all of a plan.
         */
        get: operations["whole_api_lakes__lake__passes__plan__get"];
        put?: never;
        post?: never;
        /**
         * Remove
         * @description Take a plan away; gives those that are left.
         */
        delete: operations["remove_api_lakes__lake__passes__plan__delete"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/lakes/{lake}/passes/{plan}/gpx": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Gpx
         * @description Give a plan as a GPX file of routes and tracks.
         */
        get: operations["gpx_api_lakes__lake__passes__plan__gpx_get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/lakes/{lake}/passes/{plan}/page": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Page
         * @description Give a plan as a page to print (PDF).
         */
        get: operations["page_api_lakes__lake__passes__plan__page_get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/pattern": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Pattern
         * @description Say what works: rates with 90 % intervals, comparisons in words, what can't be known yet.
         *
         *     Over one day, the last so many days, or (0) all there are, where days a year old count half.
         */
        get: operations["pattern_api_pattern_get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/next": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * What Next
         * @description Say what each rod should run for the next half hour, and why; locked rods are left alone.
         */
        get: operations["what_next_api_next_get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/next/locks": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        /**
         * Lock
         * @description Lock these rods and no others.
         */
        put: operations["lock_api_next_locks_put"];
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/plan": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Plan
         * @description Give the day ahead at a lake, at a place, or else where the boat is or last was.
         */
        get: operations["plan_api_plan_get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/plan/column": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Layers
         * @description Find the thermocline in temperatures typed in, and warn where the lure would be below it.
         */
        post: operations["layers_api_plan_column_post"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/position": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Position
         * @description Take where the phone says that it is.
         */
        post: operations["position_api_position_post"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/feeds": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Feeds
         * @description Say how the feeds are, how old what they say is, and which is used.
         */
        get: operations["feeds_api_feeds_get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rigs": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Rigs
         * @description Give all rigs aboard, the user's own first.
         */
        get: operations["rigs_api_rigs_get"];
        put?: never;
        /**
         * Keep New
         * @description Save a rig under the name that the crew gives it; one of theirs of that name is changed.
         */
        post: operations["keep_new_api_rigs_post"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/stock": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Stock
         * @description Give the parts that rigs can be made of, in groups with plain words.
         */
        get: operations["stock_api_stock_get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/tackle": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Tackle
         * @description Give all tackle to a phone, which answers from it where it is alone.
         */
        get: operations["tackle_api_tackle_get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rigs/answer": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Answer
         * @description Answer how much line for a depth, or how deep with so much line.
         */
        post: operations["answer_api_rigs_answer_post"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rigs/{name}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        /**
         * Keep
         * @description Keep a rig in the user's tackle file, which the command line reads too.
         */
        put: operations["keep_api_rigs__name__put"];
        post?: never;
        /**
         * Drop
         * @description Take a rig out of the user's tackle file.
         */
        delete: operations["drop_api_rigs__name__delete"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rigs/{name}/readings": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Readings Of
         * @description List the readings of a rig that are kept, and bottom hits in the journal that could be.
         */
        get: operations["readings_of_api_rigs__name__readings_get"];
        put?: never;
        post?: never;
        /**
         * Take Back
         * @description Take the readings of a rig back, or one of them; a task.
         */
        delete: operations["take_back_api_rigs__name__readings_delete"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rigs/{name}/calibrate": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Calibrate
         * @description Weigh readings with those that are kept: a task whose result tells before and after.
         */
        post: operations["calibrate_api_rigs__name__calibrate_post"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rigs/{name}/calibrate/keep": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Keep Calibration
         * @description Keep what a task has weighed: every later answer uses it.
         */
        post: operations["keep_calibration_api_rigs__name__calibrate_keep_post"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/rigs/{name}/sheet.pdf": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Sheet
         * @description Give the sheet to print, as ``towscope table -o`` writes it.
         */
        get: operations["sheet_api_rigs__name__sheet_pdf_get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/run": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Run
         * @description Give the newest picture of the run.
         */
        get: operations["run_api_run_get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/run/targets": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Targets
         * @description Give what the crew wants of the run.
         */
        get: operations["targets_api_run_targets_get"];
        /**
         * Set Targets
         * @description Take what the crew wants of the run.
         */
        put: operations["set_targets_api_run_targets_put"];
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/stream": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Stream
         * @description Stream what happens as server-sent events.
         *
         *     "run" once a second with the whole picture (`Run`), "boat" with each fix (`lat`, `lon`,
         *     `time_s`), "journal" when the journal has changed (`day`).
         */
        get: operations["stream_api_stream_get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/seasons": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * All Seasons
         * @description Add all days up: rod-hours, fish and rates by day, month, year and what was fished.
         */
        get: operations["all_seasons_api_seasons_get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/run/spread/boards": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Kinds
         * @description List the planer boards to choose from.
         */
        get: operations["kinds_api_run_spread_boards_get"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/run/spread": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Check
         * @description Begin to look whether the lines out tangle; the task's result is a `SpreadFound`.
         */
        post: operations["check_api_run_spread_post"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/units": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Units
         * @description Give the boat's units.
         */
        get: operations["units_api_units_get"];
        /**
         * Choose
         * @description Take the boat's units, and tell all phones.
         */
        put: operations["choose_api_units_put"];
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
}
export type webhooks = Record<string, never>;
export interface components {
    schemas: {
        /**
         * AboardNow
         * @description What there is to choose from, what the crew used last (fish and crew: most) first.
         */
        AboardNow: {
            /** Rods */
            rods: components["schemas"]["RodNow"][];
            /** Rigs */
            rigs: components["schemas"]["RigAboard"][];
            /** Lures */
            lures: components["schemas"]["LureAboard"][];
            /** Colours */
            colours: string[];
            /** Species */
            species: string[];
            /** Hooks */
            hooks: string[];
            /** Skies */
            skies: string[];
            /** Crew */
            crew: string[];
        };
        /**
         * Ahead
         * @description Where a lure will run if speed, course and let-out hold.
         *
         *     Attributes
         *     ----------
         *     time_s : list of float
         *         Seconds from now.
         *     along_m : list of float
         *         Distance along at that time, from where the boat is now [m].
         *     depth_m, low_m, high_m : list of float
         *         Depth, and the span that holds it with 90 % probability [m].
         *     bottom_m : list of float or None
         *         Depth of the bottom under the lure then [m].
         *     lat, lon : list of float
         *         Where that is [degrees].
         */
        Ahead: {
            /**
             * Time S
             * @default []
             */
            time_s: number[];
            /**
             * Along M
             * @default []
             */
            along_m: number[];
            /**
             * Depth M
             * @default []
             */
            depth_m: number[];
            /**
             * Low M
             * @default []
             */
            low_m: number[];
            /**
             * High M
             * @default []
             */
            high_m: number[];
            /**
             * Bottom M
             * @default []
             */
            bottom_m: (number | null)[];
            /**
             * Lat
             * @default []
             */
            lat: number[];
            /**
             * Lon
             * @default []
             */
            lon: number[];
        };
        /**
         * Ask
         * @description A question to a rig: how much line for a depth, or how deep with so much line.
         *
         *     Attributes
         *     ----------
         *     rig : str
         *         A rig by name, or else `spec`.
         *     spec : RigIn or None
         *         A rig in full, kept or not.
         *     lure : str
         *         Another lure on it; "" for its own.
         *     depth_m, let_out_m : float or None
         *         One of them [m].
         *     water_c : float or None
         *         Temperature of the water [degrees Celsius]; None for the tackle's.
         *     uncalibrated : bool
         *         Whether to leave out what readings have taught.
         *     step_speed_m_s, step_let_out_m : float
         *         Small changes that the crew can make, as its units go [m/s, m].
         *     units : str
         *         "us" or "metric", for what is said in words.
         */
        Ask: {
            /**
             * Rig
             * @default
             */
            rig: string;
            spec?: components["schemas"]["RigIn"] | null;
            /**
             * Lure
             * @default
             */
            lure: string;
            /** Speed M S */
            speed_m_s: number;
            /** Depth M */
            depth_m?: number | null;
            /** Let Out M */
            let_out_m?: number | null;
            /**
             * Current
             * @default []
             */
            current: components["schemas"]["Layer"][];
            /** Water C */
            water_c?: number | null;
            /**
             * Uncalibrated
             * @default false
             */
            uncalibrated: boolean;
            /**
             * Step Speed M S
             * @default 0.089408
             */
            step_speed_m_s: number;
            /**
             * Step Let Out M
             * @default 3.048
             */
            step_let_out_m: number;
            /**
             * Units
             * @default us
             * @enum {string}
             */
            units: "us" | "metric";
        };
        /**
         * BoardKinds
         * @description The planer boards of the stock, by name.
         */
        BoardKinds: {
            /** Kinds */
            kinds: string[];
        };
        /**
         * BoardOn
         * @description A planer board on a line: which of the stock's, and the line from rod tip to it [m].
         */
        BoardOn: {
            /** Kind */
            kind: string;
            /** Line M */
            line_m: number;
        };
        /**
         * BoatNow
         * @description The boat.
         *
         *     Attributes
         *     ----------
         *     at : datetime
         *         When it was there.
         *     lat, lon : float or None
         *         Where [degrees]; None where no fix has come yet.
         *     course_deg : float or None
         *         Course over ground, from true north [degrees].
         *     speed_m_s : float or None
         *         Speed that the lines are towed at [m/s]; `speed_is` says what it is.
         *     speed_is : str
         *         "through water" where a sensor gives it, else "over ground" ("over ground, current taken
         *         off" where the crew has stated one).
         *     ground_speed_m_s : float or None
         *         Speed over ground [m/s].
         *     depth_m, depth_from : float or None, str
         *         Depth of water under the boat [m], and who says so: "sounder", "lake" or "".
         *     source : str
         *         What says where the boat is, in words: "demo boat", "TCP 10.0.0.5:10110".
         *     age_s : float or None
         *         Age of the last fix [s].
         */
        BoatNow: {
            /**
             * At
             * Format: date-time
             */
            at: string;
            /** Lat */
            lat?: number | null;
            /** Lon */
            lon?: number | null;
            /** Course Deg */
            course_deg?: number | null;
            /** Speed M S */
            speed_m_s?: number | null;
            /**
             * Speed Is
             * @default over ground
             */
            speed_is: string;
            /** Ground Speed M S */
            ground_speed_m_s?: number | null;
            /** Depth M */
            depth_m?: number | null;
            /**
             * Depth From
             * @default
             * @enum {string}
             */
            depth_from: "sounder" | "lake" | "";
            /**
             * Source
             * @default
             */
            source: string;
            /** Age S */
            age_s?: number | null;
        };
        /**
         * BoatUnits
         * @description The boat's units.
         *
         *     Attributes
         *     ----------
         *     units : str or None
         *         "us" (feet, mph), "us-knots", "metric" (metres, km/h) or "metric-knots"; None where nobody
         *         has chosen yet.
         */
        BoatUnits: {
            /** Units */
            units: ("us" | "us-knots" | "metric" | "metric-knots") | null;
        };
        /**
         * Bottom
         * @description The bottom along the way, behind and ahead.
         *
         *     Attributes
         *     ----------
         *     along_m : list of float
         *         Distance along, rising [m].
         *     depth_m, sd_m : list of float or None
         *         Depth, and its standard error [m]; None where the bottom is not known.
         */
        Bottom: {
            /**
             * Along M
             * @default []
             */
            along_m: number[];
            /**
             * Depth M
             * @default []
             */
            depth_m: (number | null)[];
            /**
             * Sd M
             * @default []
             */
            sd_m: (number | null)[];
        };
        /**
         * BottomHitShown
         * @description A bottom hit in the journal on this rig.
         *
         *     Attributes
         *     ----------
         *     depth_m : float or None
         *         The bottom as it was read under the boat [m].
         *     speed_m_s : float or None
         *         The boat's speed then, over ground [m/s].
         *     kept : bool
         *         Whether it is among the readings already.
         *     trouble : str
         *         Why it cannot be used; "" where it can.
         */
        BottomHitShown: {
            /** Id */
            id: string;
            /**
             * At
             * Format: date-time
             */
            at: string;
            /** Day */
            day: string;
            /** Rod */
            rod: string;
            /** Lure */
            lure: string;
            /** Let Out M */
            let_out_m: number | null;
            /** Depth M */
            depth_m: number | null;
            /** Speed M S */
            speed_m_s: number | null;
            /** Kept */
            kept: boolean;
            /** Trouble */
            trouble: string;
        };
        /**
         * CalibrateAsk
         * @description Which readings to weigh with those that are kept.
         *
         *     Attributes
         *     ----------
         *     bottom_hits : list of str
         *         Entries of the journal by their ids.
         *     typed : list of ReadingIn
         *         Readings typed in.
         *     deepest_m : float
         *         Deepest bottom that the crew can take a reading over next [m].
         *     units : str
         *         For what is said in words.
         */
        CalibrateAsk: {
            /**
             * Bottom Hits
             * @default []
             */
            bottom_hits: string[];
            /**
             * Typed
             * @default []
             */
            typed: components["schemas"]["ReadingIn"][];
            /**
             * Deepest M
             * @default 18.288
             */
            deepest_m: number;
            /**
             * Units
             * @default us
             * @enum {string}
             */
            units: "us" | "metric";
        };
        /**
         * Calibrated
         * @description What readings an answer is calibrated by: how many, the newest's date, whether of today.
         */
        Calibrated: {
            /** Readings */
            readings: number;
            /** Since */
            since: string | null;
            /** Current Of Today */
            current_of_today: boolean;
        };
        /**
         * Carried
         * @description All tackle, for a phone to answer by itself.
         *
         *     Attributes
         *     ----------
         *     engine : dict
         *         As `towscope.answers.tackle_data` gives it.
         */
        Carried: {
            /** Engine */
            engine: {
                [key: string]: unknown;
            };
            rigs: components["schemas"]["Rigs"];
            stock: components["schemas"]["Stock"];
        };
        /**
         * Caught
         * @description How many of a kind; "" where it was not said.
         */
        Caught: {
            /** Species */
            species: string;
            /** Catches */
            catches: number;
        };
        /**
         * Change
         * @description One thing to do.
         *
         *     Attributes
         *     ----------
         *     kind : str
         *         "reel", "let out", "speed", "turn" or "none".
         *     let_out_m : float or None
         *         Line to have out then [m].
         *     by_m : float or None
         *         Line to let out (positive) or reel in (negative) [m].
         *     colors_out : float or None
         *         What `let_out_m` is in colours; None where the line is not colour-coded.
         *     speed_m_s : float or None
         *         Speed to come to [m/s].
         *     turn_deg : float or None
         *         Angle to turn through, positive to starboard [degrees]: only if the water there is clear.
         *     latest_s : float or None
         *         Latest moment to begin [s from now]; None where there is none, as of a turn.
         *     rods : list of str
         *         Whose lines, where it is done at the reels before a hit.
         *     lifts : bool
         *         Whether it lifts a lure off the bottom, where nothing could keep it off.
         *     why : str
         *         A word on it where it needs one: "deepest it can run at this speed".
         */
        Change: {
            /**
             * Kind
             * @enum {string}
             */
            kind: "reel" | "let out" | "speed" | "turn" | "none";
            /** Let Out M */
            let_out_m?: number | null;
            /** By M */
            by_m?: number | null;
            /** Colors Out */
            colors_out?: number | null;
            /** Speed M S */
            speed_m_s?: number | null;
            /** Turn Deg */
            turn_deg?: number | null;
            /** Latest S */
            latest_s?: number | null;
            /**
             * Rods
             * @default []
             */
            rods: string[];
            /**
             * Lifts
             * @default false
             */
            lifts: boolean;
            /**
             * Why
             * @default
             */
            why: string;
        };
        /**
         * CheckOn
         * @description Something about an entry or a day that the crew should see.
         */
        CheckOn: {
            /** Code */
            code: string;
            /** Text */
            text: string;
        };
        /**
         * Chosen
         * @description What was chosen.
         *
         *     Attributes
         *     ----------
         *     first : bool
         *         Whether it counts only where nobody has chosen yet.
         */
        Chosen: {
            /**
             * Units
             * @enum {string}
             */
            units: "us" | "us-knots" | "metric" | "metric-knots";
            /**
             * First
             * @default false
             */
            first: boolean;
        };
        /**
         * ClockNow
         * @description The boat's time.
         *
         *     Attributes
         *     ----------
         *     now : datetime
         *         The time.
         *     source : str
         *         "gps" where a receiver tells it, else "computer".
         *     computer_behind_s : float
         *         How far the computer's own clock is behind it [s]; negative where ahead.
         */
        ClockNow: {
            /**
             * Now
             * Format: date-time
             */
            now: string;
            /**
             * Source
             * @enum {string}
             */
            source: "gps" | "computer";
            /** Computer Behind S */
            computer_behind_s: number;
        };
        /**
         * Comparison
         * @description How one level stands against another, with the words for it.
         */
        Comparison: {
            /** By */
            by: string;
            /** Better */
            better: string;
            /** Worse */
            worse: string;
            /** Probability */
            probability: number;
            /** Ratio */
            ratio: number;
            /** Ratio Interval 90 */
            ratio_interval_90: [
                number,
                number
            ];
            /** Text */
            text: string;
        };
        /**
         * Counted
         * @description A let-out as it is counted: line before the first colour, colours, line past the last [m].
         */
        Counted: {
            /** Before M */
            before_m: number;
            /** Colors */
            colors: number | null;
            /** After M */
            after_m: number;
            /** Color Length M */
            color_length_m: number | null;
            /** Words */
            words: string;
        };
        /**
         * Current
         * @description Water that moves at a depth: with the boat, and to starboard of it.
         */
        Current: {
            /** Depth M */
            depth_m: number;
            /** Along M S */
            along_m_s: number;
            /** Across M S */
            across_m_s: number;
        };
        /**
         * Custom
         * @description A rule of thumb, and how likely it holds here: before any fish, and now.
         */
        Custom: {
            /** Text */
            text: string;
            /** Probability Before */
            probability_before: number;
            /** Probability */
            probability: number;
        };
        /**
         * DayRow
         * @description One line of the list of days.
         *
         *     Attributes
         *     ----------
         *     day : str
         *         Local date.
         *     entries : int
         *         Entries of that date, undone ones included.
         *     catches : int
         *         Catches among them.
         *     track_points : int
         *         Track points.
         */
        DayRow: {
            /** Day */
            day: string;
            /** Entries */
            entries: number;
            /** Catches */
            catches: number;
            /** Track Points */
            track_points: number;
        };
        /**
         * DayTimeline
         * @description A day: its timeline, its entries as they stand and what is odd about them.
         *
         *     ``live``: whether lines are still out.
         */
        DayTimeline: {
            /** Utc Offset S */
            utc_offset_s: number;
            /** Rods */
            rods: string[];
            /** Spans */
            spans: components["schemas"]["TimelineSpan"][];
            /** Spots */
            spots: components["schemas"]["Spot"][];
            /** Skies */
            skies: components["schemas"]["Sky"][];
            /** Notes */
            notes: components["schemas"]["Noted"][];
            /** Running */
            running: [
                number,
                number
            ][];
            profile: components["schemas"]["Profile"];
            /** Rod Hours */
            rod_hours: number;
            /** Running S */
            running_s: number;
            /** Catches */
            catches: number;
            /** Kept */
            kept: number;
            /** In No Rate */
            in_no_rate: number;
            /** Effort */
            effort: components["schemas"]["LureEffort"][];
            /** Day */
            day: string;
            /** Live */
            live: boolean;
            light: components["schemas"]["Light"] | null;
            /** Entries */
            entries: {
                [key: string]: unknown;
            }[];
            /** Day Checks */
            day_checks: components["schemas"]["CheckOn"][];
            /** Undone */
            undone: string[];
            /** Track Points */
            track_points: number;
        };
        /**
         * Days
         * @description The days there are, latest first; what "today" is on the boat's clock.
         */
        Days: {
            /** Today */
            today: string;
            /** Days */
            days: components["schemas"]["DayRow"][];
        };
        /**
         * DepthsAround
         * @description Depths by speed (across) and let-out (down) about the answer [m].
         */
        DepthsAround: {
            /** Speeds M S */
            speeds_m_s: number[];
            /** Let Outs M */
            let_outs_m: number[];
            /** Depths M */
            depths_m: (number | null)[][];
        };
        /**
         * Done
         * @description What was done, in words.
         */
        Done: {
            /** Done */
            done: string;
        };
        /**
         * Edges
         * @description Edges, points, inside turns, humps and flats at a depth: the best first, SI.
         */
        Edges: {
            /**
             * Type
             * @constant
             */
            type: "FeatureCollection";
            /** Lake */
            lake: string;
            /** Depth M */
            depth_m: number;
            /** Edges */
            edges: number;
            /** Edge Length M */
            edge_length_m: number;
            /** Features */
            features: components["schemas"]["Feature"][];
        };
        /**
         * Feature
         * @description A GeoJSON feature; its ``properties.kind`` says what it is.
         */
        Feature: {
            /**
             * Type
             * @constant
             */
            type: "Feature";
            /** Geometry */
            geometry: {
                [key: string]: unknown;
            };
            /** Properties */
            properties: {
                [key: string]: unknown;
            };
        };
        /**
         * FeedNow
         * @description How one feed is.
         *
         *     Attributes
         *     ----------
         *     name : str
         *         What it is, in words.
         *     connected : bool
         *         Whether the way to the instruments is open.
         *     since_s : float
         *         For how long it has been so [s].
         *     age_s : float or None
         *         How long ago the last reading came [s]; None where none has.
         *     count, spoilt : int
         *         Readings so far; messages that could not be used.
         *     why : str
         *         What is to be said of it.
         *     used_for : list of str
         *         What of the boat's present it says now: "place", "depth", "water speed".
         */
        FeedNow: {
            /** Name */
            name: string;
            /** Connected */
            connected: boolean;
            /** Since S */
            since_s: number;
            /** Age S */
            age_s: number | null;
            /** Count */
            count: number;
            /** Spoilt */
            spoilt: number;
            /** Why */
            why: string;
            /** Used For */
            used_for: string[];
        };
        /**
         * FeedsNow
         * @description All feeds, and how old is what they say of the boat.
         *
         *     Attributes
         *     ----------
         *     feeds : list of FeedNow
         *         Best first.
         *     place_age_s, depth_age_s, water_speed_age_s, water_temp_age_s : float or None
         *         Ages [s]; None where it was never said.
         *     speed_is : str
         *         What the speed is: "through water", "over ground", "over ground, current taken off".
         *     clock_s : float or None
         *         How far the clock of the feed that says the place is ahead of this machine's [s].
         *     notes : list of str
         *         What the crew should know, in words.
         */
        FeedsNow: {
            /**
             * Feeds
             * @default []
             */
            feeds: components["schemas"]["FeedNow"][];
            /** Place Age S */
            place_age_s?: number | null;
            /** Depth Age S */
            depth_age_s?: number | null;
            /** Water Speed Age S */
            water_speed_age_s?: number | null;
            /** Water Temp Age S */
            water_temp_age_s?: number | null;
            /**
             * Speed Is
             * @default over ground
             */
            speed_is: string;
            /** Clock S */
            clock_s?: number | null;
            /**
             * Notes
             * @default []
             */
            notes: string[];
        };
        /**
         * Fish
         * @description A fish that was measured.
         */
        Fish: {
            /** Day */
            day: string;
            /** Species */
            species: string;
            /** Length M */
            length_m: number;
            /** Kept */
            kept: boolean | null;
        };
        /**
         * Group
         * @description One lure, size, depth ...: plain catch over hours, nothing made fair.
         */
        Group: {
            /** Key */
            key: string;
            /** Low Si */
            low_si: number | null;
            /** High Si */
            high_si: number | null;
            /** Catches */
            catches: number;
            /** Rod Hours */
            rod_hours: number;
            /** Per Rod Hour */
            per_rod_hour: number | null;
            /** Interval 90 */
            interval_90: [
                number,
                number
            ] | null;
        };
        /**
         * Hello
         * @description What the page needs to know first.
         *
         *     Attributes
         *     ----------
         *     now : datetime
         *         The clock of the server.
         *     boat_units : str or None
         *         The boat's units; None where nobody has chosen yet.
         */
        Hello: {
            /** Units */
            units: {
                [key: string]: {
                    [key: string]: components["schemas"]["ShownUnit"];
                };
            };
            /** Typed */
            typed: {
                [key: string]: {
                    [key: string]: components["schemas"]["Typed"];
                };
            };
            /** Version */
            version: string;
            /** Demo */
            demo: boolean;
            /** Lake */
            lake: string;
            /**
             * Now
             * Format: date-time
             */
            now: string;
            /** Boat Units */
            boat_units: ("us" | "us-knots" | "metric" | "metric-knots") | null;
        };
        /**
         * Job
         * @description A long task as it stands.
         *
         *     Attributes
         *     ----------
         *     id : str
         *         Its name.
         *     what : str
         *         What it is for, in words.
         *     state : str
         *         "going", "done", "failed" or "stopped".
         *     share : float
         *         How much of it is done, 0 to 1.
         *     doing : str
         *         What it does now.
         *     error : str
         *         Why it failed.
         *     result : any
         *         What it came to.
         */
        Job: {
            /** Id */
            id: string;
            /** What */
            what: string;
            /**
             * State
             * @default going
             * @enum {string}
             */
            state: "going" | "done" | "failed" | "stopped";
            /**
             * Share
             * @default 0
             */
            share: number;
            /**
             * Doing
             * @default
             */
            doing: string;
            /**
             * Error
             * @default
             */
            error: string;
            /** Result */
            result?: unknown;
        };
        /**
         * KeepAsk
         * @description Which weighing to keep: the task that did it.
         */
        KeepAsk: {
            /** Job */
            job: string;
        };
        /**
         * LakeDepth
         * @description Depth of a place [m], its standard error, and the span that holds it nine times in ten.
         */
        LakeDepth: {
            /** Depth M */
            depth_m: number;
            /** Sd M */
            sd_m: number;
            /** Interval 90 M */
            interval_90_m: [
                number,
                number
            ];
        };
        /**
         * LakeFacts
         * @description A lake in figures: its size, how it was sounded, and how wrong its bed may be.
         *
         *     Attributes
         *     ----------
         *     name : str
         *         Its name.
         *     area_m2, volume_m3, max_depth_m, mean_depth_m : float
         *         Its size [m^2, m^3, m, m].
         *     deepest_sounding_m : float or None
         *         The deepest sounding [m]; the bed may guess a little deeper.
         *     beyond_m2 : float
         *         Where the bed is deeper than any sounding [m^2].
         *     ordered : bool
         *         Whether the soundings came in the order they were made in, on runs.
         *     cell_m : float
         *         Size of the cells of its bed [m].
         *     soundings, runs : int
         *         What it was made from.
         *     between_runs_m : float or None
         *         How far the runs of the sounder lie apart [m].
         *     left_out_rmse_m, band_90_coverage : float or None
         *         Where a run was left out: by how much the bed missed it [m], and the share of its
         *         soundings that the 90 % band held.
         *     latitude, longitude : float
         *         Its middle [degrees].
         *     sources, notes : list of str
         *         Files it came from; what was assumed or looks doubtful.
         *     dropped : dict of str to int
         *         How many soundings were dropped, by reason in words.
         */
        LakeFacts: {
            /** Name */
            name: string;
            /** Area M2 */
            area_m2: number;
            /** Volume M3 */
            volume_m3: number;
            /** Max Depth M */
            max_depth_m: number;
            /** Mean Depth M */
            mean_depth_m: number;
            /** Cell M */
            cell_m: number;
            /** Latitude */
            latitude: number;
            /** Longitude */
            longitude: number;
            /** Deepest Sounding M */
            deepest_sounding_m?: number | null;
            /**
             * Beyond M2
             * @default 0
             */
            beyond_m2: number;
            /**
             * Ordered
             * @default true
             */
            ordered: boolean;
            /**
             * Soundings
             * @default 0
             */
            soundings: number;
            /**
             * Runs
             * @default 0
             */
            runs: number;
            /** Between Runs M */
            between_runs_m?: number | null;
            /** Left Out Rmse M */
            left_out_rmse_m?: number | null;
            /** Band 90 Coverage */
            band_90_coverage?: number | null;
            /** Sources */
            sources?: string[];
            /** Notes */
            notes?: string[];
            /** Dropped */
            dropped?: {
                [key: string]: number;
            };
        };
        /**
         * LakeMap
         * @description The map of a lake: a GeoJSON FeatureCollection in longitude, latitude (WGS 84).
         *
         *     Its features are of the kinds "water", "deeper" (all that lies deeper than ``depth_m``) and
         *     "contour"; contours stand at round depths of ``units``. No line is off by more than
         *     ``thinned_to_m``.
         */
        LakeMap: {
            /**
             * Type
             * @constant
             */
            type: "FeatureCollection";
            /** Lake */
            lake: string;
            /** Bbox */
            bbox: number[];
            /**
             * Units
             * @enum {string}
             */
            units: "us" | "metric";
            /** Unit */
            unit: string;
            /** Deepest M */
            deepest_m: number;
            /** Step M */
            step_m: number;
            /** Thinned To M */
            thinned_to_m: number;
            /** Features */
            features: components["schemas"]["Feature"][];
        };
        /**
         * Lakes
         * @description The lakes that are kept, and the one that the boat is on ("" where none is chosen).
         */
        Lakes: {
            /** Lakes */
            lakes: components["schemas"]["LakeFacts"][];
            /** Current */
            current: string;
        };
        /**
         * Layer
         * @description Current at a depth: with the boat and to starboard of it [m/s].
         */
        Layer: {
            /**
             * Depth M
             * @default 0
             */
            depth_m: number;
            /**
             * Along M S
             * @default 0
             */
            along_m_s: number;
            /**
             * Across M S
             * @default 0
             */
            across_m_s: number;
        };
        /**
         * Layers
         * @description How a column of water is layered.
         *
         *     Attributes
         *     ----------
         *     thermocline_m : float or None
         *         Depth where the density grows fastest [m]; None where the water is mixed.
         *     metalimnion_m : (float, float) or None
         *         The layer of fast change round it [m].
         *     steepest_degc_per_m : float
         *         The steepest change of temperature with depth [degC/m].
         *     surface_degc : float
         *         Temperature at the top [degC].
         *     method : str
         *         After whom.
         *     depth_m : float or None
         *         Where the lure is to run [m].
         *     below_thermocline : bool
         *         Whether that is below it.
         *     warning : str or None
         *         What to mind then.
         *     notes : tuple of str
         *         What of the profile was left out.
         */
        Layers: {
            /** Thermocline M */
            thermocline_m: number | null;
            /** Metalimnion M */
            metalimnion_m: [
                number,
                number
            ] | null;
            /** Steepest Degc Per M */
            steepest_degc_per_m: number;
            /** Surface Degc */
            surface_degc: number;
            /**
             * Method
             * @default Read et al. (2011): steepest density gradient, weighed by its neighbours
             */
            method: string;
            /** Depth M */
            depth_m?: number | null;
            /**
             * Below Thermocline
             * @default false
             */
            below_thermocline: boolean;
            /** Warning */
            warning?: string | null;
            /**
             * Notes
             * @default []
             */
            notes: string[];
        };
        /**
         * LevelRate
         * @description One lure, size, colour, depth ... and what it catches; rates in fish per rod-hour.
         *
         *     ``raw_per_rod_hour`` is plain catch over hours, ``per_rod_hour`` what it is other things equal.
         */
        LevelRate: {
            /** Level */
            level: string;
            /** Low Si */
            low_si: number | null;
            /** High Si */
            high_si: number | null;
            /** Catches */
            catches: number;
            /** Rod Hours */
            rod_hours: number;
            /** Raw Per Rod Hour */
            raw_per_rod_hour: number;
            /** Raw Interval 90 */
            raw_interval_90: [
                number,
                number
            ];
            /** Per Rod Hour */
            per_rod_hour: number;
            /** Interval 90 */
            interval_90: [
                number,
                number
            ];
            /** Probability Best */
            probability_best: number;
        };
        /**
         * Light
         * @description The sun over the day where the boat was, in unix seconds; low light as spans.
         */
        Light: {
            /** Sunrise S */
            sunrise_s: number | null;
            /** Sunset S */
            sunset_s: number | null;
            /** Low Light */
            low_light: [
                number,
                number
            ][];
        };
        /**
         * Limit
         * @description The crew's limits for one fish on one water; lengths in metres, None for no such limit.
         *
         *     Attributes
         *     ----------
         *     minimum_m, maximum_m : float or None
         *         Shortest and longest that may be kept.
         *     release_m : list of pair
         *         Lengths that must be released, both ends included.
         *     keep : int or None
         *         How many may be kept a day.
         *     over_m, over_keep : float, int or None
         *         Of those longer than `over_m`, how many may be kept.
         */
        Limit: {
            /** Water */
            water: string;
            /** Species */
            species: string;
            /** Minimum M */
            minimum_m?: number | null;
            /** Maximum M */
            maximum_m?: number | null;
            /**
             * Release M
             * @default []
             */
            release_m: [
                number,
                number
            ][];
            /** Keep */
            keep?: number | null;
            /** Over M */
            over_m?: number | null;
            /** Over Keep */
            over_keep?: number | null;
            /**
             * Source
             * @default
             */
            source: string;
            /**
             * Checked
             * @default
             */
            checked: string;
        };
        /**
         * Limits
         * @description All limits the crew entered; `trouble` says why their file can't be read.
         */
        Limits: {
            /** Limits */
            limits: components["schemas"]["Limit"][];
            /**
             * Trouble
             * @default
             */
            trouble: string;
        };
        /**
         * LineGroup
         * @description Lines of one make, in plain words.
         */
        LineGroup: {
            /** Key */
            key: string;
            /** Words */
            words: string;
            /** About */
            about: string;
            /** Lines */
            lines: components["schemas"]["LineShown"][];
        };
        /**
         * LineNow
         * @description One line.
         *
         *     Attributes
         *     ----------
         *     rod, rig, lure, colour : str
         *         What it is.
         *     size_m : float or None
         *         Length of the lure [m].
         *     let_out_m : float
         *         Line past the rod tip, as the counter reads [m].
         *     colors_out : float or None
         *         The same in colours, leader not counted; None where the line is not colour-coded.
         *     side_m : float
         *         How far to starboard of the boat's wake the lure runs [m].
         *     along_m : float
         *         Where the lure is along (negative: behind the boat) [m].
         *     depth_m, depth_90_m : float, pair of float
         *         Depth of the lure, and the span that holds it with 90 % probability [m].
         *     settled_depth_m : float
         *         Depth it comes to if speed and course hold [m].
         *     bottom_m, off_bottom_m, off_bottom_low_m : float or None
         *         Depth of the bottom under the lure; its height above; what that is at least with 90 %
         *         probability, the bottom's own error included [m].
         *     tension_n : float
         *         Pull at the rod [N].
         *     shape : list of (along, depth)
         *         The line from the lure to the rod tip [m]; the tip is above the water: negative depth.
         *     target_m : float or None
         *         Depth that the crew wants it at [m].
         *     change : Change or None
         *         What would bring it there.
         *     lat, lon : float
         *         Where the lure is [degrees].
         *     ahead : Ahead
         *         The next two minutes.
         *     calibrated : bool
         *         Whether readings have taught this line.
         */
        LineNow: {
            /** Rod */
            rod: string;
            /**
             * Rig
             * @default
             */
            rig: string;
            /**
             * Lure
             * @default
             */
            lure: string;
            /**
             * Colour
             * @default
             */
            colour: string;
            /** Size M */
            size_m?: number | null;
            /** Let Out M */
            let_out_m: number;
            /** Colors Out */
            colors_out?: number | null;
            /**
             * Side M
             * @default 0
             */
            side_m: number;
            /** Along M */
            along_m: number;
            /** Depth M */
            depth_m: number;
            /** Depth 90 M */
            depth_90_m: [
                number,
                number
            ];
            /** Settled Depth M */
            settled_depth_m: number;
            /** Bottom M */
            bottom_m?: number | null;
            /** Off Bottom M */
            off_bottom_m?: number | null;
            /** Off Bottom Low M */
            off_bottom_low_m?: number | null;
            /** Tension N */
            tension_n: number;
            /**
             * Shape
             * @default []
             */
            shape: [
                number,
                number
            ][];
            /** Target M */
            target_m?: number | null;
            change?: components["schemas"]["Change"] | null;
            /**
             * Lat
             * @default 0
             */
            lat: number;
            /**
             * Lon
             * @default 0
             */
            lon: number;
            /**
             * @default {
             *       "time_s": [],
             *       "along_m": [],
             *       "depth_m": [],
             *       "low_m": [],
             *       "high_m": [],
             *       "bottom_m": [],
             *       "lat": [],
             *       "lon": []
             *     }
             */
            ahead: components["schemas"]["Ahead"];
            /**
             * Calibrated
             * @default false
             */
            calibrated: boolean;
        };
        /**
         * LineShown
         * @description A line to choose: `words` tells it apart within its group ("18 lb").
         */
        LineShown: {
            /** Name */
            name: string;
            /** Words */
            words: string;
            /** Own */
            own: boolean;
            /** Diameter M */
            diameter_m: number;
            /** Mass Kg M */
            mass_kg_m: number;
            /** Strength N */
            strength_n?: number | null;
            /** Color Length M */
            color_length_m?: number | null;
        };
        /**
         * Locks
         * @description Rods whose lures the crew wants left alone.
         */
        Locks: {
            /** Rods */
            rods: string[];
        };
        /**
         * LogDay
         * @description A day's log.
         *
         *     Attributes
         *     ----------
         *     today : str
         *         The date now on the boat's clock.
         *     came : list of RodNow
         *         Rods whose line was out as the day began.
         *     known : list of str
         *         Ids of all entries that the journal has of the day, those that mend others too.
         */
        LogDay: {
            /** Day */
            day: string;
            /** Today */
            today: string;
            /** Entries */
            entries: components["schemas"]["LogEntry"][];
            /** Undone */
            undone: components["schemas"]["LogUndone"][];
            /** Checks */
            checks: components["schemas"]["CheckOn"][];
            /** Rods */
            rods: components["schemas"]["RodNow"][];
            /** Came */
            came: components["schemas"]["RodNow"][];
            /** Known */
            known: string[];
        };
        /**
         * LogEntry
         * @description An entry as it stands.
         *
         *     Attributes
         *     ----------
         *     words : dict
         *         What it says, by system of units: "us", "metric".
         *     fields : dict
         *         What it holds, SI.
         */
        LogEntry: {
            /** Id */
            id: string;
            /** Kind */
            kind: string;
            /**
             * At
             * Format: date-time
             */
            at: string;
            /** Rod */
            rod: string;
            /** Device */
            device: string;
            /** Words */
            words: {
                [key: string]: string;
            };
            /** Fields */
            fields: {
                [key: string]: unknown;
            };
            /** Checks */
            checks: components["schemas"]["CheckOn"][];
        };
        /**
         * LogSent
         * @description Entries that a phone sends.
         *
         *     Attributes
         *     ----------
         *     events : list
         *         Entries, objects as `towscope.journal.events` has them, each with the id that the phone
         *         gave it.
         *     sent_at : datetime or None
         *         When they are sent, by the phone's own clock.
         */
        LogSent: {
            /** Events */
            events: unknown[];
            /** Sent At */
            sent_at?: string | null;
        };
        /**
         * LogTaken
         * @description What became of the entries sent.
         *
         *     Attributes
         *     ----------
         *     answers : list
         *         One for each, in order.
         *     ahead_s : float or None
         *         How far the phone's clock runs ahead of the boat's time [s].
         */
        LogTaken: {
            /** Answers */
            answers: components["schemas"]["SyncAnswer"][];
            /** Ahead S */
            ahead_s?: number | null;
        };
        /**
         * LogUndone
         * @description An entry that was taken back; taking `undo` back brings it back.
         */
        LogUndone: {
            /** Id */
            id: string;
            /** Kind */
            kind: string;
            /**
             * At
             * Format: date-time
             */
            at: string;
            /** Rod */
            rod: string;
            /** Device */
            device: string;
            /** Words */
            words: {
                [key: string]: string;
            };
            /** Fields */
            fields: {
                [key: string]: unknown;
            };
            /** Checks */
            checks: components["schemas"]["CheckOn"][];
            /** Undo */
            undo: string;
        };
        /**
         * Look
         * @description How a lure is to be entered when it goes on: its rig as last used, and what it looks like.
         */
        Look: {
            /** Rig */
            rig: string;
            /** Body */
            body: string;
            /** Size M */
            size_m: number | null;
            /** Colour */
            colour: string;
        };
        /**
         * LureAboard
         * @description A lure to choose: its body, its length [m], and the colour it had last.
         */
        LureAboard: {
            /** Name */
            name: string;
            /** Body */
            body: string;
            /** Size M */
            size_m: number | null;
            /** Colour */
            colour: string;
        };
        /**
         * LureEffort
         * @description What was fished with one lure of one colour.
         */
        LureEffort: {
            /** Lure */
            lure: string;
            /** Colour */
            colour: string;
            /** Hours */
            hours: number;
            /** Catches */
            catches: number;
            /** Strikes Missed */
            strikes_missed: number;
            /** Mean Depth M */
            mean_depth_m: number | null;
        };
        /**
         * LureGroup
         * @description Lures of one kind, in plain words.
         */
        LureGroup: {
            /** Key */
            key: string;
            /** Words */
            words: string;
            /** About */
            about: string;
            /** Lures */
            lures: components["schemas"]["LureShown"][];
        };
        /**
         * LureNext
         * @description What one lure aboard is thought to be worth now [fish per rod-hour].
         */
        LureNext: {
            /** Lure */
            lure: string;
            /** Per Rod Hour */
            per_rod_hour: number;
            /** Interval 90 */
            interval_90: [
                number,
                number
            ];
            /** Probability Best */
            probability_best: number;
        };
        /**
         * LureShown
         * @description A lure to choose.
         *
         *     Attributes
         *     ----------
         *     words : str
         *         What tells it apart within its group: "small".
         *     size_m : float or None
         *         Its length [m].
         *     rated_depth_m, rated_let_out_m, rated_speed_m_s : float or None
         *         How deep it is said to run, on how much line, how fast [m, m, m/s].
         */
        LureShown: {
            /** Name */
            name: string;
            /** Words */
            words: string;
            /** Own */
            own: boolean;
            /**
             * Note
             * @default
             */
            note: string;
            /**
             * Colour
             * @default
             */
            colour: string;
            /** Size M */
            size_m?: number | null;
            /** Rated Depth M */
            rated_depth_m?: number | null;
            /** Rated Let Out M */
            rated_let_out_m?: number | null;
            /** Rated Speed M S */
            rated_speed_m_s?: number | null;
            /**
             * Floats
             * @default false
             */
            floats: boolean;
        };
        /**
         * Nearby
         * @description Depth after one small change [m]; None where there is no such run.
         */
        Nearby: {
            /** Slower M */
            slower_m: number | null;
            /** Faster M */
            faster_m: number | null;
            /** Less M */
            less_m: number | null;
            /** More M */
            more_m: number | null;
        };
        /**
         * NextAnswer
         * @description What each rod should run for the next half hour.
         *
         *     Attributes
         *     ----------
         *     rods, lures : list
         *         The rods, and what each lure aboard is thought to be worth.
         *     fish_expected : float
         *         Fish to expect in it on all rods.
         *     span_s : float
         *         How long that is [s].
         *     looks : dict of str to Look
         *         Lures aboard, as the journal knows them.
         */
        NextAnswer: {
            /** Rods */
            rods: components["schemas"]["RodNext"][];
            /** Lures */
            lures: components["schemas"]["LureNext"][];
            /** Fish Expected */
            fish_expected: number;
            /** Span S */
            span_s: number;
            /** Looks */
            looks: {
                [key: string]: components["schemas"]["Look"];
            };
        };
        /**
         * NextKept
         * @description What to run next, or how far the working of it is; and the rods that are locked.
         */
        NextKept: {
            /**
             * State
             * @enum {string}
             */
            state: "fresh" | "stale" | "working" | "failed" | "stopped";
            /** As Of */
            as_of?: string | null;
            /**
             * Job
             * @default
             */
            job: string;
            /**
             * Why
             * @default
             */
            why: string;
            answer?: components["schemas"]["NextAnswer"] | null;
            /**
             * Locks
             * @default []
             */
            locks: string[];
        };
        /**
         * Noted
         * @description A note.
         */
        Noted: {
            /** At S */
            at_s: number;
            /** Text */
            text: string;
        };
        /**
         * Notice
         * @description A bottom hit that is coming.
         *
         *     Attributes
         *     ----------
         *     rod : str
         *         Whose line.
         *     sure : str
         *         "will hit bottom" where the likeliest path does, "may hit bottom" where one in ten does.
         *     seconds : float
         *         From now [s].
         *     off_bottom_m : float
         *         Least clearance that is likely [m]; negative is into the bottom.
         */
        Notice: {
            /** Rod */
            rod: string;
            /**
             * Sure
             * @enum {string}
             */
            sure: "will hit bottom" | "may hit bottom";
            /** Seconds */
            seconds: number;
            /** Off Bottom M */
            off_bottom_m: number;
        };
        /**
         * PairedPhone
         * @description A phone that is aboard.
         *
         *     Attributes
         *     ----------
         *     id, name : str
         *         What it is called here, and by the crew.
         *     paired_s, seen_s : float
         *         When it paired and was last seen, unix time [s].
         *     this : bool
         *         Whether it is the one that asks.
         */
        PairedPhone: {
            /** Id */
            id: string;
            /** Name */
            name: string;
            /** Paired S */
            paired_s: number;
            /** Seen S */
            seen_s: number;
            /**
             * This
             * @default false
             */
            this: boolean;
        };
        /**
         * PairingNow
         * @description How things stand.
         *
         *     Attributes
         *     ----------
         *     lan : bool
         *         Whether phones may be let in at all: the app was started with ``--lan``.
         *     local : bool
         *         Whether it is the boat's own machine that asks.
         *     addresses : list of str
         *         What a phone opens, the likeliest first.
         *     code : str or None
         *         The code that is good now; told to the boat's own machine alone.
         *     left_s : float
         *         How much longer it is good for [s].
         *     phones : list of PairedPhone
         *         All of them for the boat's own machine, itself for a phone.
         */
        PairingNow: {
            /** Lan */
            lan: boolean;
            /** Local */
            local: boolean;
            /**
             * Addresses
             * @default []
             */
            addresses: string[];
            /** Code */
            code?: string | null;
            /**
             * Left S
             * @default 0
             */
            left_s: number;
            /**
             * Phones
             * @default []
             */
            phones: components["schemas"]["PairedPhone"][];
        };
        /**
         * PassBrief
         * @description One pass, in short.
         */
        PassBrief: {
            /** Number */
            number: number;
            /** Length M */
            length_m: number;
            /** Heading Deg */
            heading_deg: number;
            /** Minutes */
            minutes: number;
            /** Wind */
            wind: string;
            /** Reason */
            reason: string;
            /**
             * Deeper Side
             * @enum {string}
             */
            deeper_side: "port" | "starboard";
            /** Safe */
            safe: boolean;
            /** Bottom Hit */
            bottom_hit: number;
        };
        /**
         * PassTrack
         * @description Boat and lure along a pass, moment by moment.
         */
        PassTrack: {
            /** Time S */
            time_s: number[];
            /** Boat Lat */
            boat_lat: number[];
            /** Boat Lon */
            boat_lon: number[];
            /** Speed M S */
            speed_m_s: number[];
            /** Let Out M */
            let_out_m: number[];
            /** Lure Lat */
            lure_lat: number[];
            /** Lure Lon */
            lure_lon: number[];
            /** Depth M */
            depth_m: number[];
            /** Height M */
            height_m: number[] | null;
        };
        /**
         * PassWhole
         * @description One pass.
         */
        PassWhole: {
            /** Number */
            number: number;
            /** Length M */
            length_m: number;
            /** Cut M */
            cut_m: number;
            /** Edge Depth M */
            edge_depth_m: number;
            /** Heading Deg */
            heading_deg: number;
            /** Wind */
            wind: string;
            /** Reason */
            reason: string;
            /** Off Bottom M */
            off_bottom_m: number;
            /** Lure Depth M */
            lure_depth_m: [
                number,
                number
            ];
            /** Lure Height M */
            lure_height_m: [
                number,
                number
            ];
            /** Lure Off Line M */
            lure_off_line_m: number;
            /** Line Off Edge M */
            line_off_edge_m: number;
            /** Edge Known To M */
            edge_known_to_m: number;
            /** Share Within 0 3 M */
            share_within_0_3_m: number;
            /** Let Out M */
            let_out_m: [
                number,
                number
            ];
            /** Tightest Turn M */
            tightest_turn_m: number;
            /** Schedule */
            schedule: components["schemas"]["Todo"][];
            risk: components["schemas"]["Risk"];
            track: components["schemas"]["PassTrack"];
            round: components["schemas"]["Round"] | null;
        };
        /**
         * PassWords
         * @description A pass in words: head, why this way, safe or not, the risk, the way round, what to do when.
         *
         *     Each of ``steps`` is how far along, when, and what to do.
         */
        PassWords: {
            /** Head */
            head: string;
            /** Why */
            why: string;
            /** Verdict */
            verdict: string;
            /** Risk */
            risk: string;
            /** Round */
            round: string;
            /** Steps */
            steps: [
                string,
                string,
                string
            ][];
        };
        /**
         * PassesAsk
         * @description What passes are wanted.
         *
         *     Attributes
         *     ----------
         *     depth_m : float
         *         Depth of the edge [m].
         *     off_bottom_m : float
         *         Height of the lure above the bottom [m].
         *     rig : str
         *         The rig.
         *     lure : str
         *         Another lure on it; "" for its own.
         *     speed_m_s : float
         *         Speed over ground [m/s].
         *     wind_from_deg, wind_m_s : float
         *         Where the wind blows from, from true north [degrees], and how hard [m/s].
         *     count : int
         *         Most passes.
         *     safer : bool
         *         Whether to raise the lure until a bottom hit is no likelier than `risk`.
         *     risk : float
         *         A bottom hit likelier than this is not called safe.
         *     outside_m : float
         *         How far to the deep side of the edge the lure is to run [m].
         *     most_out_m : float or None
         *         Most line past the rod tip [m].
         *     current_m_s, current_to_deg : float
         *         Current: its speed [m/s], and where it goes, from true north [degrees].
         *     tip_ahead_m, tip_starboard_m : float
         *         Rod tip from the receiver [m].
         *     uncalibrated : bool
         *         Whether to leave out what readings have taught.
         *     units : str
         *         Whose round let-outs are wanted: "us" (5 ft) or "metric" (1 m); the page is in these too.
         */
        PassesAsk: {
            /** Depth M */
            depth_m: number;
            /** Off Bottom M */
            off_bottom_m: number;
            /** Rig */
            rig: string;
            /**
             * Lure
             * @default
             */
            lure: string;
            /** Speed M S */
            speed_m_s: number;
            /**
             * Wind From Deg
             * @default 0
             */
            wind_from_deg: number;
            /**
             * Wind M S
             * @default 0
             */
            wind_m_s: number;
            /**
             * Count
             * @default 3
             */
            count: number;
            /**
             * Safer
             * @default false
             */
            safer: boolean;
            /**
             * Risk
             * @default 0.1
             */
            risk: number;
            /**
             * Outside M
             * @default 0
             */
            outside_m: number;
            /** Most Out M */
            most_out_m?: number | null;
            /**
             * Current M S
             * @default 0
             */
            current_m_s: number;
            /**
             * Current To Deg
             * @default 0
             */
            current_to_deg: number;
            /**
             * Tip Ahead M
             * @default 0
             */
            tip_ahead_m: number;
            /**
             * Tip Starboard M
             * @default 0
             */
            tip_starboard_m: number;
            /**
             * Uncalibrated
             * @default false
             */
            uncalibrated: boolean;
            /**
             * Units
             * @default us
             * @enum {string}
             */
            units: "us" | "metric";
        };
        /**
         * PatternAnswer
         * @description What works, as far as the journal knows; rates in fish per rod-hour.
         *
         *     Attributes
         *     ----------
         *     catches, rod_hours, days : int, float, int
         *         What was caught, in how much effort, on how many days.
         *     per_rod_hour, per_rod_hour_interval_90 : float, pair of float
         *         All catches over all hours, and the 90 % interval of that rate.
         *     clump, clump_interval_90 : float, pair of float
         *         Variance over mean, less one: 0 where fish come one by one.
         *     by : dict of str to list of LevelRate
         *         By what was compared: best first, numbers in their order.
         *     comparisons : list of Comparison
         *         One against another, the surest first for each.
         *     customs : list of Custom
         *         Rules of thumb that the effort bears on.
         *     cannot_know : list of str
         *         What can't be known from this, in words.
         */
        PatternAnswer: {
            /** Catches */
            catches: number;
            /** Rod Hours */
            rod_hours: number;
            /** Days */
            days: number;
            /** Per Rod Hour */
            per_rod_hour: number;
            /** Per Rod Hour Interval 90 */
            per_rod_hour_interval_90: [
                number,
                number
            ];
            /** Clump */
            clump: number;
            /** Clump Interval 90 */
            clump_interval_90: [
                number,
                number
            ];
            /** By */
            by: {
                [key: string]: components["schemas"]["LevelRate"][];
            };
            /** Comparisons */
            comparisons: components["schemas"]["Comparison"][];
            /** Customs */
            customs: components["schemas"]["Custom"][];
            /** Cannot Know */
            cannot_know: string[];
        };
        /**
         * PatternKept
         * @description Pattern, or how far the working of it is.
         */
        PatternKept: {
            /**
             * State
             * @enum {string}
             */
            state: "fresh" | "stale" | "working" | "failed" | "stopped";
            /** As Of */
            as_of?: string | null;
            /**
             * Job
             * @default
             */
            job: string;
            /**
             * Why
             * @default
             */
            why: string;
            answer?: components["schemas"]["PatternAnswer"] | null;
        };
        /**
         * PhoneFix
         * @description A place as a phone tells it.
         *
         *     Attributes
         *     ----------
         *     time : datetime
         *         When it was, by the phone's clock: ISO 8601 with its zone, or unix time [s or ms].
         *     lat, lon : float
         *         Place [degrees].
         *     accuracy_m : float
         *         How sure it is [m].
         *     speed_m_s : float or None
         *         Over ground [m/s].
         *     course_deg : float or None
         *         Over ground, from true north [degrees].
         */
        PhoneFix: {
            /**
             * Time
             * Format: date-time
             */
            time: string;
            /** Lat */
            lat: number;
            /** Lon */
            lon: number;
            /** Accuracy M */
            accuracy_m: number;
            /** Speed M S */
            speed_m_s?: number | null;
            /** Course Deg */
            course_deg?: number | null;
        };
        /**
         * PieceIn
         * @description A piece of line as a tackle file says it: ``thin-core-18``, ``10 colors``.
         */
        PieceIn: {
            /** Line */
            line: string;
            /** Length */
            length: string;
        };
        /**
         * PieceShown
         * @description A piece of line on a rig.
         *
         *     Attributes
         *     ----------
         *     words : str
         *         What it is: "18 lb thin lead core".
         *     length_m : float
         *         Its length [m].
         *     colors, color_length_m : float or None
         *         The same in colours, and the length of one [m]; None where it is not colour-coded.
         *     strength_n : float or None
         *         Breaking strength [N].
         */
        PieceShown: {
            /** Line */
            line: string;
            /** Words */
            words: string;
            /** Length M */
            length_m: number;
            /** Colors */
            colors?: number | null;
            /** Color Length M */
            color_length_m?: number | null;
            /** Strength N */
            strength_n?: number | null;
        };
        /**
         * PlacesTaken
         * @description What became of the phone's places.
         *
         *     Attributes
         *     ----------
         *     taken, left_out : int
         *         How many.
         *     used : bool
         *         Whether the phone is what says where the boat is.
         *     why : str
         *         Why places were left out.
         */
        PlacesTaken: {
            /** Taken */
            taken: number;
            /** Left Out */
            left_out: number;
            /** Used */
            used: boolean;
            /**
             * Why
             * @default
             */
            why: string;
        };
        /**
         * Plan
         * @description The day ahead.
         *
         *     Attributes
         *     ----------
         *     place : str
         *         Where it is: a lake's name, "where the boat last was", or "" where no place is known.
         *     lat, lon : float or None
         *         That place [degrees]; the pages work its sun and moon out.
         *     lakes : list of str
         *         Lakes that are kept, to choose from.
         *     noted : WaterNoted or None
         *         What was noted within the last hours, to begin from.
         *     cautions : list of str
         *         What can hurt somebody.
         */
        Plan: {
            /** Day */
            day: string;
            /** Place */
            place: string;
            /** Lat */
            lat: number | null;
            /** Lon */
            lon: number | null;
            /** Lakes */
            lakes: string[];
            noted: components["schemas"]["WaterNoted"] | null;
            /** Cautions */
            cautions: string[];
        };
        /**
         * PlanBrief
         * @description A saved plan, in short: what was asked, when, and its passes in the order to run them.
         *
         *     ``calibrated``: whether readings had taught the rig something then; ``same_bed``: whether the
         *     lake is still as it was.
         */
        PlanBrief: {
            /** Id */
            id: string;
            /**
             * Made
             * Format: date-time
             */
            made: string;
            asked: components["schemas"]["PassesAsk"];
            /** Calibrated */
            calibrated: boolean;
            /** Same Bed */
            same_bed: boolean;
            /** Passes */
            passes: components["schemas"]["PassBrief"][];
        };
        /**
         * PlanWhole
         * @description A saved plan: the figures of its passes, and the words for them in both systems of units.
         */
        PlanWhole: {
            /** Id */
            id: string;
            /**
             * Made
             * Format: date-time
             */
            made: string;
            /** Lake */
            lake: string;
            asked: components["schemas"]["PassesAsk"];
            /** Calibrated */
            calibrated: boolean;
            /** Left Out */
            left_out: string[];
            /** Passes */
            passes: components["schemas"]["PassWhole"][];
            /** Words */
            words: {
                [key: string]: components["schemas"]["PlanWords"];
            };
        };
        /**
         * PlanWords
         * @description A plan in words of one system of units.
         */
        PlanWords: {
            /** Passes */
            passes: components["schemas"]["PassWords"][];
            /** Notes */
            notes: string[];
        };
        /**
         * Plans
         * @description The plans saved for a lake, the newest first.
         */
        Plans: {
            /** Plans */
            plans: components["schemas"]["PlanBrief"][];
        };
        /**
         * Profile
         * @description Water depth under the boat, its speed and the surface temperature along the day.
         */
        Profile: {
            /** At S */
            at_s: (number | null)[];
            /** Water Depth M */
            water_depth_m: (number | null)[];
            /** Speed M S */
            speed_m_s: (number | null)[];
            /** Surface Temp C */
            surface_temp_c: (number | null)[];
        };
        /**
         * ReadingIn
         * @description A reading typed in; `error_m` is left to what is usual for its kind.
         */
        ReadingIn: {
            /**
             * Kind
             * @default bottom hit
             * @enum {string}
             */
            kind: "bottom hit" | "soft bottom hit" | "first bottom hit" | "miss" | "recorder" | "sonar mark";
            /** Let Out M */
            let_out_m: number;
            /** Speed M S */
            speed_m_s: number;
            /** Depth M */
            depth_m: number;
            /** Error M */
            error_m?: number | null;
            /** At */
            at?: string | null;
        };
        /**
         * ReadingShown
         * @description A reading that is kept: what was read, and when.
         */
        ReadingShown: {
            /** Id */
            id: string;
            /** Kind */
            kind: string;
            /** Lure */
            lure: string;
            /** Let Out M */
            let_out_m: number;
            /** Speed M S */
            speed_m_s: number;
            /** Depth M */
            depth_m: number;
            /** Error M */
            error_m: number;
            /** Day */
            day: string;
            /** Time */
            time: number | null;
        };
        /**
         * Readings
         * @description A temperature profile typed in, and where the lure is to run [m].
         */
        Readings: {
            /** Readings */
            readings: components["schemas"]["TemperatureAt"][];
            /** Lure Depth M */
            lure_depth_m?: number | null;
            /**
             * Units
             * @default us
             * @enum {string}
             */
            units: "us" | "metric";
        };
        /**
         * ReelShown
         * @description A reel to choose.
         */
        ReelShown: {
            /** Name */
            name: string;
            /** Own */
            own: boolean;
            /** Capacity */
            capacity: string;
        };
        /**
         * Report
         * @description A day's report, and which day it is of.
         */
        Report: {
            /** Title */
            title: string;
            /** Lead */
            lead: string;
            /** Map */
            map: string | null;
            /** Timeline */
            timeline: string | null;
            /** Catches */
            catches: string[][];
            /** Catch Heads */
            catch_heads: string[];
            /** Effort */
            effort: string[][];
            /** Effort Heads */
            effort_heads: string[];
            /** Notes */
            notes: string[];
            /** Checks */
            checks: string[];
            /** Cautions */
            cautions: string[];
            /** Foot */
            foot: string;
            /** Day */
            day: string;
        };
        /**
         * RigAboard
         * @description A rig to choose.
         *
         *     Attributes
         *     ----------
         *     title : str
         *         Its name as the crew wrote it.
         *     own : bool
         *         Whether it is the crew's, not one of the stock's examples.
         *     color_m, before_color_m : float or None
         *         Length of one colour, and of the line before the first [m]; None without coded line.
         */
        RigAboard: {
            /** Name */
            name: string;
            /** Title */
            title: string;
            /** Own */
            own: boolean;
            /** Lure */
            lure: string;
            /** Color M */
            color_m: number | null;
            /** Before Color M */
            before_color_m: number | null;
        };
        /**
         * RigIn
         * @description A rig as a tackle file says it, from the lure up.
         *
         *     Attributes
         *     ----------
         *     title : str
         *         What the crew calls it, as they write it.
         *     lure, tip_height, line, reel, counter_factor, note : ...
         *         As in a tackle file; lengths are text with a unit, or colours.
         *     lures, lines : dict
         *         Lures and lines of its own by name, as tables of a tackle file.
         */
        RigIn: {
            /**
             * Title
             * @default
             */
            title: string;
            /** Lure */
            lure: string;
            /**
             * Tip Height
             * @default 3 ft
             */
            tip_height: string;
            /** Line */
            line: components["schemas"]["PieceIn"][];
            /** Reel */
            reel?: string | null;
            /**
             * Counter Factor
             * @default 1
             */
            counter_factor: number;
            /**
             * Note
             * @default
             */
            note: string;
            /**
             * Lures
             * @default {}
             */
            lures: {
                [key: string]: {
                    [key: string]: unknown;
                };
            };
            /**
             * Lines
             * @default {}
             */
            lines: {
                [key: string]: {
                    [key: string]: unknown;
                };
            };
        };
        /**
         * RigReadings
         * @description Readings of a rig that are kept, and bottom hits in the journal that could be.
         */
        RigReadings: {
            /** Kept */
            kept: components["schemas"]["ReadingShown"][];
            /** Bottom Hits */
            bottom_hits: components["schemas"]["BottomHitShown"][];
            /** Others */
            others: number;
        };
        /**
         * RigShown
         * @description A rig that is aboard.
         *
         *     Attributes
         *     ----------
         *     name : str
         *         Its key: what commands and files call it.
         *     title : str
         *         What the crew calls it, as they wrote it.
         *     own : bool
         *         Whether it is the user's; else it is an example of the stock's.
         *     pieces : list of PieceShown
         *         From the lure up.
         *     readings : int
         *         Readings of this very rig that are kept.
         *     trouble : str
         *         Why it cannot be towed; "" where it can.
         */
        RigShown: {
            /** Name */
            name: string;
            /** Title */
            title: string;
            /** Own */
            own: boolean;
            /**
             * Note
             * @default
             */
            note: string;
            /** Lure */
            lure: string;
            /**
             * Lure Words
             * @default
             */
            lure_words: string;
            /** Tip Height M */
            tip_height_m: number;
            /** Reel */
            reel?: string | null;
            /**
             * Counter Factor
             * @default 1
             */
            counter_factor: number;
            /**
             * Pieces
             * @default []
             */
            pieces: components["schemas"]["PieceShown"][];
            /**
             * Length M
             * @default 0
             */
            length_m: number;
            /**
             * Readings
             * @default 0
             */
            readings: number;
            /**
             * Trouble
             * @default
             */
            trouble: string;
        };
        /**
         * Rigs
         * @description All rigs aboard.
         *
         *     Attributes
         *     ----------
         *     kept : int
         *         How many are the user's own.
         *     begin : bool
         *         Whether a crew had best begin with a rig: none is kept, and no line is out today.
         */
        Rigs: {
            /** Rigs */
            rigs: components["schemas"]["RigShown"][];
            /** Kept */
            kept: number;
            /** Begin */
            begin: boolean;
        };
        /**
         * Risk
         * @description What may go wrong on a way: how likely lure or line hits bottom, how near it comes, where.
         */
        Risk: {
            /** Safe */
            safe: boolean;
            /** Bottom Hit */
            bottom_hit: number;
            /** Least Off Bottom M */
            least_off_bottom_m: number;
            /** Interval 90 M */
            interval_90_m: [
                number,
                number
            ];
            /** Least Off Bottom Best M */
            least_off_bottom_best_m: number;
            /** Least Off Bottom At Whole Errors M */
            least_off_bottom_at_whole_errors_m: number;
            /** Worst Lat */
            worst_lat: number;
            /** Worst Lon */
            worst_lon: number;
            /** Worst Run M */
            worst_run_m: number;
            /** Worst Hit */
            worst_hit: number;
            /** Draws */
            draws: number;
            /** Doubts 90 M */
            doubts_90_m: {
                [key: string]: number;
            };
        };
        /**
         * RodNext
         * @description What one rod should run for the next half hour, and why; what it runs now ("" for none).
         */
        RodNext: {
            /** Rod */
            rod: string;
            /** Lure */
            lure: string | null;
            /** Running */
            running: string;
            /** Change */
            change: boolean;
            /** Locked */
            locked: boolean;
            /** Reason */
            reason: string;
            /** Per Rod Hour */
            per_rod_hour: number;
            /** Interval 90 */
            interval_90: [
                number,
                number
            ];
        };
        /**
         * RodNow
         * @description A rod with what is out on it, or, where nothing is, what was last.
         *
         *     Attributes
         *     ----------
         *     size_m, let_out_m : float or None
         *         Length of the lure, and line out [m].
         */
        RodNow: {
            /** Rod */
            rod: string;
            /** Out */
            out: boolean;
            /** Rig */
            rig: string;
            /** Lure */
            lure: string;
            /** Body */
            body: string;
            /** Colour */
            colour: string;
            /** Size M */
            size_m: number | null;
            /** Let Out M */
            let_out_m: number | null;
        };
        /**
         * Round
         * @description The way round to the next pass.
         */
        Round: {
            /** Length M */
            length_m: number;
            /** Radius M */
            radius_m: number;
            /** First */
            first: string;
            /** Let Out M */
            let_out_m: number;
            /** Speed M S */
            speed_m_s: number;
            risk: components["schemas"]["Risk"] | null;
            track: components["schemas"]["PassTrack"];
        };
        /**
         * Run
         * @description The picture of the run at one moment: the data of each "run" event of the stream.
         *
         *     Attributes
         *     ----------
         *     count : int
         *         Rises by one with each picture.
         *     state : str
         *         "running" (lines are followed), "no fix" (nothing says where the boat is), "stale" (the
         *         last fix is too old to go by: boat and lines are as they were `as_of`), "not towing"
         *         (stopped, or faster than anybody tows) or "no lines" (no line is out).
         *     as_of : datetime or None
         *         When boat, bottom and lines were so, where that is not now.
         *     do : list of Change
         *         One action for all lines of the notices, and what else would do it: line and speed first, a
         *         turn last. Each was tried with all lines together; empty while being worked out, and where
         *         no bottom is known.
         *     keep_off_bottom_m : float
         *         Clearance that the crew wants kept [m].
         *     wide_turn_m : float or None
         *         Least radius of a turn with these lines out [m]; None with none followed.
         */
        Run: {
            /** Count */
            count: number;
            /**
             * State
             * @enum {string}
             */
            state: "running" | "no fix" | "stale" | "not towing" | "no lines";
            boat: components["schemas"]["BoatNow"];
            /**
             * @default {
             *       "along_m": [],
             *       "depth_m": [],
             *       "sd_m": []
             *     }
             */
            bottom: components["schemas"]["Bottom"];
            /**
             * Lines
             * @default []
             */
            lines: components["schemas"]["LineNow"][];
            /**
             * Unfollowed
             * @default []
             */
            unfollowed: components["schemas"]["Unfollowed"][];
            /**
             * Notices
             * @default []
             */
            notices: components["schemas"]["Notice"][];
            /**
             * Do
             * @default []
             */
            do: components["schemas"]["Change"][];
            /**
             * Keep Off Bottom M
             * @default 1
             */
            keep_off_bottom_m: number;
            /** Wide Turn M */
            wide_turn_m?: number | null;
            /** As Of */
            as_of?: string | null;
        };
        /**
         * Seasons
         * @description All days added up.
         */
        Seasons: {
            /** Days */
            days: components["schemas"]["Spell"][];
            /** Months */
            months: components["schemas"]["Spell"][];
            /** Years */
            years: components["schemas"]["Spell"][];
            /** By */
            by: {
                [key: string]: components["schemas"]["Group"][];
            };
            /** Species */
            species: components["schemas"]["Caught"][];
            /** Fish */
            fish: components["schemas"]["Fish"][];
        };
        /**
         * SeasonsAnswer
         * @description All days added up, or how far the adding is.
         */
        SeasonsAnswer: {
            /**
             * State
             * @enum {string}
             */
            state: "fresh" | "stale" | "working" | "failed" | "stopped";
            /** As Of */
            as_of?: string | null;
            /**
             * Job
             * @default
             */
            job: string;
            /**
             * Why
             * @default
             */
            why: string;
            answer?: components["schemas"]["Seasons"] | null;
        };
        /**
         * ShownUnit
         * @description How one kind of figure is shown: ``(si - offset) / scale``, with decimals and a label.
         */
        ShownUnit: {
            /** Scale */
            scale: number;
            /** Offset */
            offset: number;
            /** Label */
            label: string;
            /** Decimals */
            decimals: number;
        };
        /**
         * Sky
         * @description Sky and water as noted, from `at_s` on.
         */
        Sky: {
            /** At S */
            at_s: number;
            /** Sky */
            sky: string | null;
            /** Wind M S */
            wind_m_s: number | null;
            /** Wind From */
            wind_from: string | null;
            /** Surface Temp C */
            surface_temp_c: number | null;
            /** Clarity M */
            clarity_m: number | null;
        };
        /**
         * Spell
         * @description A day, a month or a year: what was fished and caught, and the exact interval of its rate.
         *
         *     Rates leave out fish that no line explains.
         */
        Spell: {
            /** When */
            when: string;
            /** Days */
            days: number;
            /** Rod Hours */
            rod_hours: number;
            /** Catches */
            catches: number;
            /** Kept */
            kept: number;
            /** Longest M */
            longest_m: number | null;
            /** Per Rod Hour */
            per_rod_hour: number | null;
            /** Interval 90 */
            interval_90: [
                number,
                number
            ] | null;
        };
        /**
         * Spot
         * @description A fish, missed strike, bottom hit or sonar mark; `weight_likely_kg` is from its length.
         */
        Spot: {
            /** Id */
            id: string;
            /**
             * Kind
             * @enum {string}
             */
            kind: "catch" | "strike_missed" | "bottom_hit" | "sonar_mark";
            /** At S */
            at_s: number;
            /** Rod */
            rod: string;
            /** Number */
            number: number;
            /** Lat */
            lat: number | null;
            /** Lon */
            lon: number | null;
            /** Lure */
            lure: string;
            /** Colour */
            colour: string;
            /** Let Out M */
            let_out_m: number | null;
            /** Depth M */
            depth_m: number | null;
            /** Species */
            species: string;
            /** Length M */
            length_m: number | null;
            /** Weight Kg */
            weight_kg: number | null;
            /** Weight Likely Kg */
            weight_likely_kg: number | null;
            /** Kept */
            kept: boolean | null;
            /** Who */
            who: string;
        };
        /**
         * SpreadAsk
         * @description What the log does not say of the lines out.
         *
         *     Attributes
         *     ----------
         *     units : str
         *         Whose units the words are in.
         *     bottom_m : float or None
         *         How deep the water is [m], where that is to count.
         *     boards : dict of str to BoardOn
         *         Rods whose line goes out on a planer board; what is out by the log is then behind it.
         */
        SpreadAsk: {
            /**
             * Units
             * @default us
             * @enum {string}
             */
            units: "us" | "metric";
            /** Bottom M */
            bottom_m?: number | null;
            /**
             * Boards
             * @default {}
             */
            boards: {
                [key: string]: components["schemas"]["BoardOn"];
            };
        };
        /**
         * Stock
         * @description All that rigs can be made of, and what to mind with it.
         */
        Stock: {
            /** Lines */
            lines: components["schemas"]["LineGroup"][];
            /** Lures */
            lures: components["schemas"]["LureGroup"][];
            /** Reels */
            reels: components["schemas"]["ReelShown"][];
            start: components["schemas"]["StockBeginning"];
            /** Lead */
            lead: string;
            /** Hooks */
            hooks: string;
        };
        /**
         * StockBeginning
         * @description What a crew without files begins from: the stock's own first rig.
         */
        StockBeginning: {
            leader: components["schemas"]["PieceShown"];
            main: components["schemas"]["PieceShown"];
            backing: components["schemas"]["PieceShown"];
            /** Lure */
            lure: string;
            /** Tip Height M */
            tip_height_m: number;
        };
        /**
         * SyncAnswer
         * @description What became of one entry.
         *
         *     Attributes
         *     ----------
         *     id : str
         *         Its name as it was given; "" where it had none.
         *     state : str
         *         "taken" (new, and on the disk), "had" (was on the disk already) or "refused".
         *     why : str
         *         Why it was refused.
         */
        SyncAnswer: {
            /** Id */
            id: string;
            /**
             * State
             * @enum {string}
             */
            state: "taken" | "had" | "refused";
            /**
             * Why
             * @default
             */
            why: string;
        };
        /**
         * Targets
         * @description What the crew wants of the run.
         *
         *     Attributes
         *     ----------
         *     depth_m : dict of str to float
         *         Depth wanted for each rod [m].
         *     keep_off_bottom_m : float
         *         Clearance to keep above the bottom [m].
         *     current_m_s, current_to_deg : float
         *         Current that the crew states: its speed [m/s], and where it goes, from true north
         *         [degrees].
         *     lake : str
         *         The lake whose bottom to go by; "" for none.
         */
        Targets: {
            /**
             * Depth M
             * @default {}
             */
            depth_m: {
                [key: string]: number;
            };
            /**
             * Keep Off Bottom M
             * @default 1
             */
            keep_off_bottom_m: number;
            /**
             * Current M S
             * @default 0
             */
            current_m_s: number;
            /**
             * Current To Deg
             * @default 0
             */
            current_to_deg: number;
            /**
             * Lake
             * @default
             */
            lake: string;
        };
        /**
         * TemperatureAt
         * @description The temperature [degC] at a depth [m].
         */
        TemperatureAt: {
            /** Depth M */
            depth_m: number;
            /** Temperature C */
            temperature_c: number;
        };
        /**
         * TimelineSpan
         * @description A rod with a line out and nothing changed; times in unix seconds, all else in SI.
         */
        TimelineSpan: {
            /** Rod */
            rod: string;
            /** Start S */
            start_s: number;
            /** End S */
            end_s: number;
            /** Rig */
            rig: string;
            /** Lure */
            lure: string;
            /** Body */
            body: string;
            /** Colour */
            colour: string;
            /** Size M */
            size_m: number | null;
            /** Let Out M */
            let_out_m: number | null;
            /** Open */
            open: boolean;
            /** Depth M */
            depth_m: number | null;
            /** Rod Hours */
            rod_hours: number;
            /** Catches */
            catches: number;
        };
        /**
         * Todo
         * @description One thing to do at one place: how far along, when, and the line and speed from there on.
         */
        Todo: {
            /**
             * Kind
             * @enum {string}
             */
            kind: "start" | "line" | "on edge" | "off edge" | "turn" | "end";
            /** Run M */
            run_m: number;
            /** Time S */
            time_s: number;
            /** Boat Lat */
            boat_lat: number;
            /** Boat Lon */
            boat_lon: number;
            /** Let Out M */
            let_out_m: number;
            /** Speed M S */
            speed_m_s: number;
        };
        /**
         * Told
         * @description What a rig answers; the first keys are those of ``towscope letout --json``.
         *
         *     Attributes
         *     ----------
         *     shape_m : list of (float, float, float)
         *         The line from the lure to the rod tip: length from the lure, distance behind the tip, and
         *         depth below the surface [m]; the tip is above the water.
         *     mind : list of str
         *         What to take care of.
         *     made_ms : float
         *         How long it took to work out [ms].
         */
        Told: {
            /** Rig */
            rig: string;
            /** Depth M */
            depth_m: number;
            /** Depth 90 M */
            depth_90_m: [
                number,
                number
            ];
            /** Speed M S */
            speed_m_s: number;
            /** Let Out M */
            let_out_m: number;
            /** Let Out 90 M */
            let_out_90_m: [
                number | null,
                number | null
            ];
            /** Counter M */
            counter_m: number;
            /** Colors Out */
            colors_out: number | null;
            /** Layback M */
            layback_m: number;
            /** Side M */
            side_m: number;
            /** Deepest M */
            deepest_m: number;
            /** Tension N */
            tension_n: number;
            /** Strength Share */
            strength_share: number | null;
            /** Depth Per 0 1 Mph M */
            depth_per_0_1_mph_m: number;
            /** Depth Per 10 Ft Line M */
            depth_per_10_ft_line_m: number;
            /** Answered Share */
            answered_share: number;
            /** Water Density Kg M3 */
            water_density_kg_m3: number;
            calibrated: components["schemas"]["Calibrated"] | null;
            /** Current */
            current: components["schemas"]["Current"][];
            count: components["schemas"]["Counted"];
            nearby: components["schemas"]["Nearby"];
            around: components["schemas"]["DepthsAround"];
            /** Shape M */
            shape_m: [
                number,
                number,
                number
            ][];
            /** Pieces */
            pieces: components["schemas"]["PieceShown"][];
            /** Mind */
            mind: string[];
            /** Made Ms */
            made_ms: number;
        };
        /**
         * Typed
         * @description What a unit that people type comes to: ``si = figure * scale + offset``.
         */
        Typed: {
            /** Scale */
            scale: number;
            /** Offset */
            offset: number;
        };
        /**
         * Unfollowed
         * @description A line that is out but can't be followed, and why in words.
         */
        Unfollowed: {
            /** Rod */
            rod: string;
            /** Why */
            why: string;
        };
        /**
         * WaterNoted
         * @description Sky, wind and water as last noted, and when.
         */
        WaterNoted: {
            /**
             * At
             * Format: date-time
             */
            at: string;
            /** Sky */
            sky: string | null;
            /** Wind M S */
            wind_m_s: number | null;
            /** Wind From */
            wind_from: string | null;
            /** Surface Temp C */
            surface_temp_c: number | null;
            /** Clarity M */
            clarity_m: number | null;
        };
        /**
         * Problem
         * @description What is wrong, in one line: the body of every answer that is none.
         */
        Problem: {
            /** Error */
            error: string;
        };
    };
    responses: {
        /** @description 401: The phone is not paired with the boat; 403: Sent from a page that is not the app's; 404: There is no such thing; 409: The question is fine; there is no such answer; 413: Too large to take; 422: Something given is wrong; what, and what is expected; 429: Too much at once; wait */
        Problem: {
            headers: {
                [name: string]: unknown;
            };
            content: {
                "application/json": components["schemas"]["Problem"];
            };
        };
    };
    parameters: never;
    requestBodies: never;
    headers: never;
    pathItems: never;
}
export type $defs = Record<string, never>;
export interface operations {
    days_api_days_get: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Days"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    day_api_days__day__get: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                day: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["DayTimeline"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    report_api_days__day__report_get: {
        parameters: {
            query?: {
                units?: "us" | "metric";
                map_px?: number;
            };
            header?: never;
            path: {
                day: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Report"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    report_html_api_days__day__report_html_get: {
        parameters: {
            query?: {
                units?: "us" | "metric";
                save?: boolean;
            };
            header?: never;
            path: {
                day: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            default: components["responses"]["Problem"];
        };
    };
    report_pdf_api_days__day__report_pdf_get: {
        parameters: {
            query?: {
                units?: "us" | "metric";
                save?: boolean;
            };
            header?: never;
            path: {
                day: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            default: components["responses"]["Problem"];
        };
    };
    hello_api_hello_get: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Hello"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    job_api_jobs__name__get: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Job"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    stop_api_jobs__name__delete: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Job"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    take_api_journal_events_post: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["LogSent"];
            };
        };
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["LogTaken"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    boat_time_api_journal_clock_get: {
        parameters: {
            query?: {
                /** @description the phone's time as it asks, by its own clock */
                now?: string | null;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["ClockNow"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    day_api_journal_day_get: {
        parameters: {
            query?: {
                /** @description "today", "2026-08-14" */
                day?: string;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["LogDay"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    aboard_now_api_journal_aboard_get: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["AboardNow"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    give_api_journal_file_get: {
        parameters: {
            query?: {
                day?: string;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            default: components["responses"]["Problem"];
        };
    };
    take_api_journal_file_post: {
        parameters: {
            query: {
                name: string;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/octet-stream": string;
            };
        };
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Job"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    lakes_api_lakes_get: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Lakes"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    upload_api_lakes_post: {
        parameters: {
            query: {
                name: string;
                file: string;
                depth_unit?: "" | "m" | "ft" | "fathom";
                sign?: "" | "down" | "up";
                columns?: string;
                crs?: string;
                transducer_m?: number;
                level_m?: number;
                water_degc?: number | null;
                surface_m?: number | null;
                shore?: string;
                shore_bytes?: number;
                islands?: "" | "land" | "water";
                replace?: boolean;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/octet-stream": string;
            };
        };
        responses: {
            /** @description Successful Response */
            202: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Job"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    lake_api_lakes__name__get: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["LakeFacts"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    lake_map_api_lakes__name__map_get: {
        parameters: {
            query?: {
                units?: "us" | "metric";
                depth_m?: number | null;
            };
            header?: never;
            path: {
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["LakeMap"];
                };
            };
            /** @description As it was. */
            304: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            default: components["responses"]["Problem"];
        };
    };
    edges_api_lakes__name__edges_get: {
        parameters: {
            query: {
                depth_m: number;
                units?: "us" | "metric";
                thin_m?: number;
            };
            header?: never;
            path: {
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Edges"];
                };
            };
            /** @description As it was. */
            304: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            default: components["responses"]["Problem"];
        };
    };
    depth_api_lakes__name__depth_get: {
        parameters: {
            query: {
                lat: number;
                lon: number;
            };
            header?: never;
            path: {
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["LakeDepth"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    limits_api_fish_limits_get: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Limits"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    enter_api_fish_limits_put: {
        parameters: {
            query?: {
                units?: "us" | "metric";
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["Limit"];
            };
        };
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Limits"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    forget_api_fish_limits_delete: {
        parameters: {
            query: {
                water: string;
                species: string;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Limits"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    pairing_api_pairing_get: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["PairingNow"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    new_code_api_pairing_code_post: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["PairingNow"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    put_ashore_api_pairing__phone__delete: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                phone: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["PairingNow"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    listed_api_lakes__lake__passes_get: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                lake: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Plans"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    plan_api_lakes__lake__passes_post: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                lake: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["PassesAsk"];
            };
        };
        responses: {
            /** @description Successful Response */
            202: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Job"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    whole_api_lakes__lake__passes__plan__get: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                lake: string;
                plan: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["PlanWhole"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    remove_api_lakes__lake__passes__plan__delete: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                lake: string;
                plan: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Plans"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    gpx_api_lakes__lake__passes__plan__gpx_get: {
        parameters: {
            query?: {
                units?: "us" | "metric";
            };
            header?: never;
            path: {
                lake: string;
                plan: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The file. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "text/plain": string;
                    "application/gpx+xml": unknown;
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    page_api_lakes__lake__passes__plan__page_get: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                lake: string;
                plan: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The page. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/pdf": unknown;
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    pattern_api_pattern_get: {
        parameters: {
            query?: {
                by?: string;
                day?: string;
                days?: number;
                species?: string;
                customs?: boolean;
                units?: "us" | "metric";
                again?: boolean;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["PatternKept"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    what_next_api_next_get: {
        parameters: {
            query?: {
                hours_left?: number;
                light?: string;
                water_c?: number | null;
                species?: string;
                units?: "us" | "metric";
                again?: boolean;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["NextKept"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    lock_api_next_locks_put: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["Locks"];
            };
        };
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Locks"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    plan_api_plan_get: {
        parameters: {
            query?: {
                lake?: string;
                day?: string;
                lat?: number | null;
                lon?: number | null;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Plan"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    layers_api_plan_column_post: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["Readings"];
            };
        };
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Layers"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    position_api_position_post: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["PhoneFix"][];
            };
        };
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["PlacesTaken"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    feeds_api_feeds_get: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["FeedsNow"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    rigs_api_rigs_get: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Rigs"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    keep_new_api_rigs_post: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["RigIn"];
            };
        };
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["RigShown"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    stock_api_stock_get: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Stock"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    tackle_api_tackle_get: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Carried"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    answer_api_rigs_answer_post: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["Ask"];
            };
        };
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Told"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    keep_api_rigs__name__put: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                name: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["RigIn"];
            };
        };
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["RigShown"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    drop_api_rigs__name__delete: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Done"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    readings_of_api_rigs__name__readings_get: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["RigReadings"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    take_back_api_rigs__name__readings_delete: {
        parameters: {
            query?: {
                reading?: string;
            };
            header?: never;
            path: {
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Job"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    calibrate_api_rigs__name__calibrate_post: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                name: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["CalibrateAsk"];
            };
        };
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Job"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    keep_calibration_api_rigs__name__calibrate_keep_post: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                name: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["KeepAsk"];
            };
        };
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Done"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    sheet_api_rigs__name__sheet_pdf_get: {
        parameters: {
            query?: {
                units?: "us" | "metric";
                uncalibrated?: boolean;
            };
            header?: never;
            path: {
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/pdf": unknown;
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    run_api_run_get: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Run"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    targets_api_run_targets_get: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Targets"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    set_targets_api_run_targets_put: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["Targets"];
            };
        };
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Targets"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    stream_api_stream_get: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "text/event-stream": string;
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    all_seasons_api_seasons_get: {
        parameters: {
            query?: {
                units?: "us" | "metric";
                again?: boolean;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["SeasonsAnswer"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    kinds_api_run_spread_boards_get: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["BoardKinds"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    check_api_run_spread_post: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["SpreadAsk"];
            };
        };
        responses: {
            /** @description Successful Response */
            202: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Job"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    units_api_units_get: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["BoatUnits"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
    choose_api_units_put: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["Chosen"];
            };
        };
        responses: {
            /** @description Successful Response */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["BoatUnits"];
                };
            };
            default: components["responses"]["Problem"];
        };
    };
}
