// Made by `npm run types` from the OpenAPI document; not edited by hand.
export interface paths {
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
}
export type webhooks = Record<string, never>;
export interface components {
    schemas: {
        /** HTTPValidationError */
        HTTPValidationError: {
            /** Detail */
            detail?: components["schemas"]["ValidationError"][];
        };
        /**
         * Hello
         * @description What the page needs to know first.
         *
         *     Attributes
         *     ----------
         *     now : datetime
         *         The clock of the server.
         */
        Hello: {
            /** Units */
            units: {
                [key: string]: {
                    [key: string]: components["schemas"]["Unit"];
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
         * Unit
         * @description How one kind of figure is shown: ``(si - offset) / scale``, with decimals and a label.
         */
        Unit: {
            /** Scale */
            scale: number;
            /** Offset */
            offset: number;
            /** Label */
            label: string;
            /** Decimals */
            decimals: number;
        };
        /** ValidationError */
        ValidationError: {
            /** Location */
            loc: (string | number)[];
            /** Message */
            msg: string;
            /** Error Type */
            type: string;
            /** Input */
            input?: unknown;
            /** Context */
            ctx?: Record<string, never>;
        };
    };
    responses: never;
    parameters: never;
    requestBodies: never;
    headers: never;
    pathItems: never;
}
export type $defs = Record<string, never>;
export interface operations {
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
            /** @description Validation Error */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["HTTPValidationError"];
                };
            };
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
            /** @description Validation Error */
            422: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["HTTPValidationError"];
                };
            };
        };
    };
}
